package web

import (
	"compress/gzip"
	"io"
	"testing"
	"testing/fstest"

	"swardbook/static"
)

func TestStaticFilesComePackedAndAreAskedAgain(t *testing.T) {
	h := newHouse(t)
	b := h.as("")
	raw, err := static.FS.ReadFile("css/look.css")
	if err != nil {
		t.Fatal(err)
	}
	plain := want(t, b.get("/static/css/look.css"), 200)
	if got, _ := io.ReadAll(plain.Body); string(got) != string(raw) {
		t.Error("the plain file differs")
	}
	packed := want(t, b.send("GET", "/static/css/look.css", nil, map[string]string{"Accept-Encoding": "br, gzip"}), 200)
	if packed.Header.Get("Content-Encoding") != "gzip" || packed.Header.Get("Vary") != "Accept-Encoding" {
		t.Errorf("headers %v", packed.Header)
	}
	z, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	if got, _ := io.ReadAll(z); string(got) != string(raw) {
		t.Error("the packed file differs")
	}
	if plain.Header.Get("Etag") == packed.Header.Get("Etag") {
		t.Error("two encodings under one tag")
	}
	for _, answer := range []map[string]string{
		{"If-None-Match": plain.Header.Get("Etag")},
		{"If-None-Match": `"old", W/` + packed.Header.Get("Etag"), "Accept-Encoding": "gzip"},
	} {
		again := b.send("GET", "/static/css/look.css", nil, answer)
		if body, _ := io.ReadAll(again.Body); again.StatusCode != 304 || len(body) > 0 {
			t.Errorf("%v: %d with %d bytes", answer, again.StatusCode, len(body))
		}
	}
	if plain.Header.Get("Cache-Control") != "no-cache" {
		t.Errorf("kept without asking: %q", plain.Header.Get("Cache-Control"))
	}
}

func TestOnlyFilesThatAreThereAreServed(t *testing.T) {
	b := newHouse(t).as("")
	for _, path := range []string{"/static/", "/static/css", "/static/none.css", "/static/../go.mod", "/static/css/..%2f..%2fgo.mod"} {
		if answer := b.get(path); answer.StatusCode == 200 {
			t.Errorf("%s: %d", path, answer.StatusCode)
		}
	}
}

func TestPicturesAreNotPackedAndSmallFilesStayAsTheyAre(t *testing.T) {
	all, err := loadAssets(fstest.MapFS{"a.jpg": {Data: []byte("jpeg")}, "b.css": {Data: []byte("a{}")}, "c.bin": {Data: []byte("x")}})
	if err != nil {
		t.Fatal(err)
	}
	for name, kind := range map[string]string{"a.jpg": "image/jpeg", "b.css": "text/css; charset=utf-8", "c.bin": "application/octet-stream"} {
		if a := all[name]; a.packed != nil || a.kind != kind {
			t.Errorf("%s: packed %v, kind %s", name, a.packed != nil, a.kind)
		}
	}
}
