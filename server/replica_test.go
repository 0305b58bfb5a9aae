package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// TestAReplicaIsRestored goes the way of the README: a replicator follows the database while phones send, the machine is lost, and a
// folder is made from the replica. What was acknowledged five seconds before is in it. SWARDBOOK_REPLICATOR names the replicator,
// which `make replica` builds: it is large, so that the whole test does without.
func TestAReplicaIsRestored(t *testing.T) {
	replicator := os.Getenv("SWARDBOOK_REPLICATOR")
	if replicator == "" {
		t.Skip("make replica runs this with the replicator built")
	}
	o := buildOffice(t)
	dir := t.TempDir()
	settings, replica, proved := filepath.Join(dir, "replica.yml"), filepath.Join(dir, "replica"), filepath.Join(dir, "proved")
	text := fmt.Sprintf("dbs:\n  - path: %s\n    replica: {type: file, path: %s}\n", databaseIn(o.data), filepath.Join(dir, "elsewhere"))
	if err := os.WriteFile(settings, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	o.start()
	running(t, nil, replicator, "replicate", "-config", settings)
	s := newSender(t, o)
	wait := s.sendAll()
	waitFor(t, "acknowledgements", 60*time.Second, func() (bool, bool) { return true, s.acknowledged() >= 3 })
	s.mu.Lock()
	rows, photos := slices.Clone(s.rows), slices.Clone(s.photos)
	s.mu.Unlock()
	time.Sleep(5 * time.Second)
	o.kill()
	wait()
	lost := o.data + ".lost"
	if err := os.Rename(o.data, lost); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(filepath.Join(replica, "photos"), os.DirFS(filepath.Join(lost, "photos"))); err != nil {
		t.Fatal(err)
	}
	for _, step := range [][]string{
		{replicator, "restore", "-config", settings, "-o", databaseIn(replica), databaseIn(o.data)},
		{o.binary, "backup", "-data", replica, "-to", proved},
		{o.binary, "restore", "-from", proved, "-data", o.data},
	} {
		if out, err := exec.Command(step[0], step[1:]...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", step[1], err, out)
		}
	}
	acknowledged := len(s.rows)
	s.rows, s.photos = rows, photos
	s.compare(t, o.data)
	t.Logf("%d rows were acknowledged when the machine was lost", acknowledged)
	o.start()
	o.stop()
}
