package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"swardbook/store/backup"
)

func TestBackingUpAndRestoringByCommand(t *testing.T) {
	data, disk := emptyDatabase(t), t.TempDir()
	copied := filepath.Join(disk, "copy")
	said, err := commanded(t, "", "backup", "-data", data, "-to", copied)
	if err != nil || !strings.Contains(said, "read back") {
		t.Fatalf("%q %v", said, err)
	}
	if said, err := commanded(t, "", "backup", "-check", copied); err != nil || !strings.Contains(said, "is whole") {
		t.Errorf("%q %v", said, err)
	}
	if _, err := commanded(t, "", "restore", "-from", copied, "-data", data); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("restored over a database: %v", err)
	}
	fresh := filepath.Join(disk, "fresh")
	if said, err := commanded(t, "", "restore", "-from", copied, "-data", fresh); err != nil || !strings.Contains(said, "compared with the backup") {
		t.Errorf("%q %v", said, err)
	}
	if said, err := commanded(t, "", "person", "list", "-data", fresh); err != nil {
		t.Errorf("%q %v", said, err)
	}
	for _, args := range [][]string{{"backup"}, {"backup", "-to", "a", "-check", "b"}, {"restore"}, {"backup", "-data", fresh + "x", "-to", filepath.Join(disk, "y")}} {
		if _, err := commanded(t, "", args...); err == nil {
			t.Errorf("%v succeeded", args)
		}
	}
}

func TestBackupsAreMadeWhenTheyAreDue(t *testing.T) {
	data, disk := emptyDatabase(t), t.TempDir()
	clock := time.Date(2026, 8, 27, 3, 0, 0, 0, time.UTC)
	k := &keeper{data: data, folder: disk, every: 24 * time.Hour, keep: 2, now: func() time.Time { return clock }, log: silent()}
	for hour, want := range []int{1, 1, 1} {
		clock = clock.Add(time.Duration(hour) * time.Hour)
		if err := k.once(t.Context()); err != nil {
			t.Fatal(err)
		}
		if list, _ := backup.List(disk); len(list) != want {
			t.Errorf("after %d hours: %v", hour, list)
		}
	}
	clock = clock.Add(30 * time.Hour)
	if err := k.once(t.Context()); err != nil {
		t.Fatal(err)
	}
	if list, _ := backup.List(disk); len(list) != 2 || !list[1].Made.Equal(clock) {
		t.Errorf("%v", list)
	}
	k.data = filepath.Join(data, "none")
	clock = clock.Add(30 * time.Hour)
	if err := k.once(t.Context()); err == nil || k.failed == nil {
		t.Error("a backup of nothing succeeded, or the failure is not kept for the owner")
	}
}

func TestTheKeeperLooksAgainUntilItIsStopped(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a file where a folder should be")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		k := &keeper{folder: file, every: time.Hour, keep: 1, log: silent(), now: time.Now}
		ctx, stop := context.WithTimeout(t.Context(), 2*lookEvery+time.Second)
		defer stop()
		k.run(ctx)
		if k.failed == nil {
			t.Error("the failure is not kept")
		}
	})
}
