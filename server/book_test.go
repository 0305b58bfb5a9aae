package main

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/book"
)

// TestAnExportedBookMakesAnEqualServer hands the whole demo out, takes it in on an empty server, and hands that one out again: file by file the same.
func TestAnExportedBookMakesAnEqualServer(t *testing.T) {
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	layDemoIn(t, data)
	said := ordered(t, "export", "-data", data, "-to", filepath.Join(dir, "one.zip"))
	if !strings.Contains(said, "photos") {
		t.Error(said)
	}
	ordered(t, "import", "-from", filepath.Join(dir, "one.zip"), "-data", filepath.Join(dir, "two"))
	ordered(t, "export", "-data", filepath.Join(dir, "two"), "-to", filepath.Join(dir, "two.zip"))
	one, two := contents(t, filepath.Join(dir, "one.zip")), contents(t, filepath.Join(dir, "two.zip"))
	photos := 0
	for name, raw := range one {
		if name == "tables/audit.jsonl" { // the new one says that it was made of the old one, and that is all
			more, same := bytes.CutPrefix(two[name], raw)
			if !same || bytes.Count(more, []byte("\n")) != 1 || !bytes.Contains(more, []byte("database.restored")) {
				t.Errorf("the audit log goes on with %s", more)
			}
			continue
		}
		if name != "manifest.json" && !bytes.Equal(raw, two[name]) {
			t.Errorf("%s differs:\n%.400s\n%.400s", name, raw, two[name])
		}
		if strings.HasPrefix(name, "photos/") {
			photos++
		}
	}
	if len(one) != len(two) || len(one) < 25 || photos == 0 {
		t.Errorf("%d and %d files, %d photos", len(one), len(two), photos)
	}
	sheet := string(one["clients.csv"])
	if !strings.HasPrefix(sheet, "\ufeffclient,phone,") || !strings.Contains(sheet, "14 Alder Rise") || !strings.Contains(sheet, "\r\n") {
		t.Errorf("%.300s", sheet)
	}
	if raw := string(one["zones.geojson"]); !strings.Contains(raw, `"FeatureCollection"`) || !strings.Contains(raw, "14 Alder Rise") {
		t.Errorf("%.300s", raw)
	}
	equalAnswers(t, data, filepath.Join(dir, "two"))
	if err := run(context.Background(), []string{"import", "-from", filepath.Join(dir, "one.zip"), "-data", data}, noEnv, nil, io.Discard, io.Discard); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("a folder that holds something: %v", err)
	}
}

func noEnv(string) string { return "" }

func ordered(t *testing.T, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	if err := run(t.Context(), args, noEnv, strings.NewReader(""), &out, &out); err != nil {
		t.Fatalf("%v: %v %s", args, err, out.String())
	}
	return out.String()
}

func openFor(t *testing.T, data string) *house {
	t.Helper()
	now, err := startingAt(august)
	if err != nil {
		t.Fatal(err)
	}
	h, err := openHouse(t.Context(), config{data: data}, now, silent())
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func contents(t *testing.T, path string) map[string][]byte {
	t.Helper()
	in, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	out := map[string][]byte{}
	for _, f := range in.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// equalAnswers asks both servers the same: what a word finds, and what was thought of every visit.
func equalAnswers(t *testing.T, one, two string) {
	t.Helper()
	var told []string
	for _, data := range []string{one, two} {
		h := openFor(t, data)
		var b strings.Builder
		found, err := h.db.Find(t.Context(), "al", 40)
		if err != nil || len(found) == 0 {
			t.Fatal(found, err)
		}
		for _, f := range found {
			b.WriteString(f.Kind + f.ID + f.Words + "\n")
		}
		visits, err := h.db.Visits(t.Context(), store.VisitFilter{})
		if err != nil || len(visits) == 0 {
			t.Fatal(visits, err)
		}
		for _, v := range visits {
			answers, err := h.db.LatestDiagnoses(t.Context(), v.ID)
			if err != nil {
				t.Fatal(err)
			}
			for _, a := range answers {
				b.WriteString(v.ID + a.Zone + string(a.Answer) + "\n")
			}
		}
		if err := h.close(); err != nil {
			t.Fatal(err)
		}
		told = append(told, b.String())
	}
	if told[0] != told[1] {
		t.Errorf("the two servers say different things:\n%.600s\n%.600s", told[0], told[1])
	}
}

// TestABookThatWasChangedIsRefused leaves nothing behind of a file that is cut, changed, or none of ours.
func TestABookThatWasChangedIsRefused(t *testing.T) {
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	layDemoIn(t, data)
	whole := filepath.Join(dir, "one.zip")
	ordered(t, "export", "-data", data, "-to", whole)
	files := contents(t, whole)
	for name, change := range map[string]func(map[string][]byte){
		"a row changed": func(f map[string][]byte) {
			f["tables/clients.jsonl"] = bytes.Replace(f["tables/clients.jsonl"], []byte("555"), []byte("556"), 1)
		},
		"a row gone": func(f map[string][]byte) {
			f["tables/visits.jsonl"] = f["tables/visits.jsonl"][:bytes.IndexByte(f["tables/visits.jsonl"], '\n')+1]
		},
		"a table gone": func(f map[string][]byte) { delete(f, "tables/zones.jsonl") },
		"no manifest":  func(f map[string][]byte) { delete(f, "manifest.json") },
		"another format": func(f map[string][]byte) {
			f["manifest.json"] = bytes.Replace(f["manifest.json"], []byte(book.Format), []byte("other"), 1)
		},
		"a newer program's": func(f map[string][]byte) {
			f["manifest.json"] = bytes.Replace(f["manifest.json"], []byte(`"migration": `), []byte(`"migration": 9`), 1)
		},
		"a photo changed": func(f map[string][]byte) { eachPhoto(f, func(n string) { f[n] = append(f[n], 'x') }) },
		"a photo gone":    func(f map[string][]byte) { eachPhoto(f, func(n string) { delete(f, n) }) },
		"a column of another": func(f map[string][]byte) {
			f["tables/people.jsonl"] = bytes.Replace(f["tables/people.jsonl"], []byte(`"fold"`), []byte(`"x"`), 1)
		},
		"a row of nothing": func(f map[string][]byte) {
			f["tables/people.jsonl"] = append([]byte("[]\n"), f["tables/people.jsonl"]...)
		},
	} {
		changed := map[string][]byte{}
		for n, raw := range files {
			changed[n] = bytes.Clone(raw)
		}
		change(changed)
		path, to := filepath.Join(dir, "changed.zip"), filepath.Join(dir, "new")
		writeZip(t, path, changed)
		if _, err := book.Import(t.Context(), path, to, time.Now); err == nil {
			t.Errorf("%s: taken in", name)
		}
		if _, err := os.Stat(to); err == nil {
			t.Errorf("%s: something is left behind", name)
		}
		if _, err := os.Stat(to + ".part"); err == nil {
			t.Errorf("%s: half of it is left behind", name)
		}
	}
	if _, err := book.Import(t.Context(), filepath.Join(dir, "data", "swardbook.db"), filepath.Join(dir, "new"), time.Now); err == nil {
		t.Error("a database is no book")
	}
}

func eachPhoto(files map[string][]byte, f func(name string)) {
	for n := range files {
		if strings.HasPrefix(n, "photos/") {
			f(n)
		}
	}
}

func writeZip(t *testing.T, path string, files map[string][]byte) {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, raw := range files {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err == nil {
			_, err = w.Write(raw)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}
