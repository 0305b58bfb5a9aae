package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"time"

	"swardbook/store/backup"
	"swardbook/store/intake"
	"swardbook/web/desk"
)

// State is what the program knows of itself, for the owner's page.
func (h *house) State(context.Context) (desk.HouseState, error) {
	s := desk.HouseState{Database: databaseSize(h.keeper.data), Started: h.watch.Started(), Program: build()}
	s.Faults, s.Failed = h.watch.Faults()
	var err error
	s.Backup, err = h.keeper.state()
	return s, err
}

// state is how the scheduled backups stand.
func (k *keeper) state() (s desk.BackupState, err error) {
	if k.folder == "" {
		return s, nil
	}
	k.mu.Lock()
	s.Folder, s.Failed = k.folder, k.failed != nil
	k.mu.Unlock()
	list, err := backup.List(k.folder)
	if err != nil || len(list) == 0 {
		return s, err
	}
	m, err := backup.Read(list[len(list)-1].Path)
	s.Made, s.Rows, s.Photos = m.Made, m.Rows(), len(m.Photos)
	s.Old = k.now().Sub(m.Made) > k.every+2*lookEvery
	return s, err
}

// age is how many seconds ago the last backup was made, -1 when there is none.
func (k *keeper) age() float64 {
	s, err := k.state()
	if err != nil || s.Made.IsZero() {
		return -1
	}
	return k.now().Sub(s.Made).Seconds()
}

// databaseSize is how much the database takes on the disk, with what has not been folded into it yet.
func databaseSize(data string) (n int64) {
	for _, end := range []string{"", "-wal"} {
		if info, err := os.Stat(databaseIn(data) + end); err == nil {
			n += info.Size()
		}
	}
	return n
}

// build names what this binary was made of.
func build() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	text := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.time" {
			text += ", " + s.Value
		}
	}
	return text + ", " + info.GoVersion
}

// ready says why no requests should be sent here now.
func (h *house) ready(ctx context.Context) error {
	select {
	case <-h.db.Broken():
		return errDisk
	case <-h.ending:
		return errors.New("the program is about to end")
	default:
	}
	if free, err := roomIn(h.keeper.data)(); err == nil && free < intake.RoomForRecords {
		return fmt.Errorf("%d bytes are free on the disk: nothing is taken in", free)
	}
	return ctx.Err()
}

// measured adds the house's own numbers to what is measured.
func (h *house) measured() {
	h.watch.Gauge("swardbook_database_bytes", func() float64 { return float64(databaseSize(h.keeper.data)) })
	h.watch.Gauge("swardbook_backup_age_seconds", h.keeper.age)
	h.watch.Gauge("swardbook_phones_unsent", func() float64 {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		devices, err := h.db.Devices(ctx)
		if err != nil {
			return -1
		}
		n := 0
		for _, d := range devices {
			n += d.Unsent
		}
		return float64(n)
	})
}
