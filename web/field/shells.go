package field

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"path"

	"swardbook/web/route"
)

// workerOf is the worker with the release it keeps, or the one that lets everything through.
func workerOf(files fs.FS, rel release, passThrough bool) ([]byte, error) {
	if passThrough {
		return fs.ReadFile(files, "js/sw-pass.js")
	}
	body, err := fs.ReadFile(files, "js/sw.js")
	if err != nil {
		return nil, err
	}
	list, err := json.Marshal(rel)
	if err != nil {
		return nil, err
	}
	return bytes.Join([][]byte{[]byte("const RELEASE = "), list, []byte(";\n"), body}, nil), nil
}

// serveWorker is always asked again, so that a phone hears of a new release at its next start.
func (f *Field) serveWorker(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	_, _ = w.Write(f.worker)
	return nil
}

func (f *Field) serveRelease(w http.ResponseWriter, r *http.Request) error {
	return answer(w, http.StatusOK, f.release)
}

// made serves one shell or the manifest. The version is its tag: the same release, the same bytes.
func (f *Field) made(url string) route.Handler {
	body := f.release.bodies[url]
	kind := "text/html; charset=utf-8"
	if url == manifestURL {
		kind = types[path.Ext(url)]
	}
	tag := fmt.Sprintf("%q", f.release.Version)
	return func(w http.ResponseWriter, r *http.Request) error {
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Cache-Control", "no-cache")
		w.Header().Set("ETag", tag)
		if tagged(r, tag) {
			w.WriteHeader(http.StatusNotModified)
			return nil
		}
		_, _ = w.Write(body)
		return nil
	}
}
