package intake_test

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"testing"

	"swardbook/store"
	"swardbook/store/intake"
)

// TestD10BatchesOfEarlierReleases: what the pages of each release sent, byte for byte (static/jstest/batch.mjs), is taken in whole by this
// one, however long the phone was away.
func TestD10BatchesOfEarlierReleases(t *testing.T) {
	files, err := filepath.Glob("../../testdata/batches/*.json")
	if err != nil || len(files) == 0 {
		t.Fatal("no batch of an earlier release is kept", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			h := openHouse(t)
			raw, err := os.ReadFile(file)
			h.must(err)
			h.clock.at = h.clock.at.AddDate(0, 9, 0)
			req, err := intake.Decode(bytes.NewReader(raw), 0)
			h.must(err)
			reply, err := h.svc.Push(t.Context(), intake.Sender{Person: h.ana, Agent: "test"}, req)
			h.must(err)
			if n := int64(len(req.Ops)); reply.Through != n || len(reply.Attention) > 0 || len(reply.Clash) > 0 {
				t.Fatalf("of %d operations: %+v", n, reply)
			}
			strip := ""
			for _, op := range req.Ops {
				if z, err := h.db.Zone(t.Context(), op.ID); err == nil {
					strip = z.ID
					if z.Name != "Strip behind the shed" || z.AreaSqFt != 420.5 {
						t.Errorf("the zone: %+v", z)
					}
				}
			}
			sha := "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
			want := map[string]string{
				"front/tug_test": "-", "front/core_depth_in": "2; 2 1/2; 7; 7,5 in", "front/note": "Césped húmedo 🌱 “junto” al cobertizo\n2½ m",
				"front/photo": sha, strip + "/thatch_in": "0.4; 0.5",
			}
			if got := h.current("visit"); !maps.Equal(got, want) {
				t.Errorf("readings %v, want %v", got, want)
			}
			if v, err := h.db.Visit(t.Context(), "visit"); err != nil || v.State != store.HandedIn {
				t.Errorf("the visit: %+v, %v", v, err)
			}
			if len(reply.PhotosMissing) != 1 || reply.PhotosMissing[0] != sha {
				t.Errorf("photos asked for: %v", reply.PhotosMissing)
			}
			if list := h.applications(); len(list) != 1 {
				t.Errorf("applications %v", list)
			}
			kept, err := h.db.Ops(t.Context(), store.OpFilter{Device: req.Device})
			h.must(err)
			for i, op := range kept {
				if !bytes.Equal(op.Raw, req.Ops[i].Raw) || !bytes.Contains(raw, op.Raw) {
					t.Errorf("operation %d changed: %s", op.N, op.Raw)
				}
			}
		})
	}
}
