package field

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"swardbook/diagnose/knowledge"
	"swardbook/static"
	"swardbook/store"
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

// drawn is the release made from one edition of the knowledge.
type drawn struct {
	from    *knowledge.Loaded
	release release
	worker  []byte

	packedWorker, packedKnow []byte // compressed
}

// draw makes the release of know the one that is handed out.
func (f *Field) draw(know *knowledge.Loaded) error {
	rel, err := newRelease(static.FS, know.Bundle, f.tongues)
	if err != nil {
		return err
	}
	worker, err := workerOf(static.FS, rel, f.passThrough)
	if err != nil {
		return err
	}
	d := &drawn{from: know, release: rel, worker: worker}
	if d.packedWorker, err = zipped(worker); err != nil {
		return err
	}
	if d.packedKnow, err = zipped(know.JSON); err != nil {
		return err
	}
	f.last.Store(d)
	return nil
}

// drawn is the release of the knowledge that counts now. Should it fail to draw, phones keep getting the last one.
func (f *Field) drawn() *drawn {
	if know := f.know(); know != f.last.Load().from {
		if err := f.draw(know); err != nil {
			f.log.Error("the phone's pages can't be drawn", "edition", know.Edition, "error", err)
		}
	}
	return f.last.Load()
}

// serveWorker is always asked again, so that a phone hears of a new release at its next start.
func (f *Field) serveWorker(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	d := f.drawn()
	write(w, r, d.worker, d.packedWorker)
	return nil
}

func (f *Field) serveRelease(w http.ResponseWriter, r *http.Request) error {
	return answer(w, http.StatusOK, f.drawn().release)
}

// made serves one shell, the manifest or the script of the worker that weighs; one that names its release gets that one or none. The version
// is its tag: the same release, the same bytes.
func (f *Field) made(url string) route.Handler {
	kind := "text/html; charset=utf-8"
	if ext := path.Ext(url); ext != "" {
		kind = types[ext]
	}
	return func(w http.ResponseWriter, r *http.Request) error {
		rel := f.drawn().release
		if of := r.URL.Query().Get("release"); of != "" && of != rel.Version {
			return store.Errorf(store.NotFound, "There is no such release.")
		}
		body, tag := rel.bodies[url], fmt.Sprintf("%q", rel.Version)
		w.Header().Set("Vary", "Accept-Encoding")
		zip := strings.Contains(r.Header.Get("Accept-Encoding"), "gzip")
		if zip {
			body, tag = rel.zipped[url], fmt.Sprintf("%q", rel.Version+"-gzip")
		}
		w.Header().Set("Content-Type", kind)
		w.Header().Set("Cache-Control", "no-cache")
		w.Header().Set("ETag", tag)
		if tagged(r, tag) {
			w.WriteHeader(http.StatusNotModified)
			return nil
		}
		if zip {
			w.Header().Set("Content-Encoding", "gzip")
		}
		_, _ = w.Write(body)
		return nil
	}
}
