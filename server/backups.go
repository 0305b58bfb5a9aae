package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"swardbook/store/backup"
)

const backupUsage = `Copies database and photos, while the server uses them, to a new folder, and reads the copy back: every row of every table
and every photo is counted and hashed into manifest.json there.

  swardbook backup -to /mnt/disk/swardbook-2026-11-25
  swardbook backup -check /mnt/disk/swardbook-2026-11-25`

func makeBackup(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "backup", backupUsage)
	data := fs.String("data", "./data", "folder of the database and the photos")
	to := fs.String("to", "", "the new folder; it must not exist")
	before := fs.String("before", "", "an earlier backup on the same disk: photos it has are linked, not copied again")
	check := fs.String("check", "", "read this backup back instead of making one")
	if err := settle(fs, args, t); err != nil {
		return err
	}
	if (*to == "") == (*check == "") {
		return errors.New("backup needs -to, the new folder, or -check, a backup to read back")
	}
	if *check != "" {
		m, err := backup.Check(ctx, *check)
		return tellBackup(t, *check+" is whole", m, err)
	}
	m, err := backup.Make(ctx, *data, *to, *before, time.Now())
	return tellBackup(t, *to+" is written and read back", m, err)
}

const restoreUsage = `Puts a backup into a data folder that holds nothing yet, and proves it: rows, photos and hashes must be those of the
manifest. The database gets a new epoch, so phones send again what the backup does not have; they keep what they sent for thirty days.

  swardbook restore -from /mnt/disk/swardbook-2026-11-25 -data /srv/swardbook`

func restoreBackup(ctx context.Context, args []string, t terminal) error {
	fs := flags(t, "restore", restoreUsage)
	data := fs.String("data", "./data", "the data folder to make; it must be empty or not exist")
	from := fs.String("from", "", "the backup")
	if err := settle(fs, args, t); err != nil {
		return err
	}
	if *from == "" {
		return errors.New("restore needs -from, the backup")
	}
	m, err := backup.Restore(ctx, *from, *data, time.Now)
	return tellBackup(t, "restored to "+*data+" and compared with the backup", m, err)
}

func tellBackup(t terminal, what string, m backup.Manifest, err error) error {
	if err != nil {
		return err
	}
	fmt.Fprintf(t.stdout, "%s: made %s, %d rows in %d tables, %d photos (%.1f MB).\n",
		what, m.Made.Format(time.RFC3339), m.Rows(), len(m.Tables), len(m.Photos), float64(m.PhotoSum)/1e6)
	if len(m.Missing) > 0 {
		fmt.Fprintf(t.stdout, "%d photos were gone from the data folder when it was made; the server asks phones for them.\n", len(m.Missing))
	}
	return nil
}

// keeper makes backups while the server runs.
type keeper struct {
	data, folder string // folder "" makes none
	every        time.Duration
	keep         int
	now          func() time.Time
	log          *slog.Logger

	mu     sync.Mutex
	failed error // why the last try failed, nil when it did not
}

// lookEvery is how often it is asked whether a backup is due: a laptop that slept makes it soon after it wakes.
const lookEvery = 5 * time.Minute

// run makes a backup whenever one is due, until ctx ends.
func (k *keeper) run(ctx context.Context) {
	if k.folder == "" {
		return
	}
	for {
		if err := k.once(ctx); err != nil && ctx.Err() == nil {
			k.log.Error("no backup could be made", "folder", k.folder, "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEvery):
		}
	}
}

// once makes a backup when the newest is older than it may be.
func (k *keeper) once(ctx context.Context) (err error) {
	defer func() {
		k.mu.Lock()
		defer k.mu.Unlock()
		k.failed = err
	}()
	list, err := backup.List(k.folder)
	if err != nil {
		return err
	}
	if n := len(list); n > 0 && k.now().Sub(list[n-1].Made) < k.every {
		return nil
	}
	m, err := backup.Next(ctx, k.data, k.folder, k.keep, k.now())
	if err == nil {
		k.log.Info("backup made and read back", "rows", m.Rows(), "photos", len(m.Photos), "bytes", m.Size+m.PhotoSum, "missing", len(m.Missing))
	}
	return err
}
