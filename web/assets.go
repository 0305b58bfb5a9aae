package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"

	"swardbook/static"
	"swardbook/store"
)

// asset is one embedded file, ready to be sent.
type asset struct {
	kind   string
	plain  []byte
	packed []byte // gzip; nil where it would not help
	etag   string // of the plain bytes, without quotes
}

// assets are the files under /static/ by their path there.
type assets map[string]asset

// packable are the kinds that shrink.
var packable = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".json": "application/json",
	".svg": "image/svg+xml", ".webmanifest": "application/manifest+json",
}

// loadAssets reads and packs every file of files once.
func loadAssets(files fs.FS) (assets, error) {
	all := assets{}
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		raw, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		all[name], err = pack(name, raw)
		return err
	})
	return all, err
}

func pack(name string, raw []byte) (asset, error) {
	sum := sha256.Sum256(raw)
	a := asset{kind: packable[path.Ext(name)], plain: raw, etag: hex.EncodeToString(sum[:12])}
	if a.kind == "" {
		if a.kind = mime.TypeByExtension(path.Ext(name)); a.kind == "" {
			a.kind = "application/octet-stream"
		}
		return a, nil
	}
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return a, err
	}
	if _, err := z.Write(raw); err != nil {
		return a, err
	}
	if err := z.Close(); err != nil {
		return a, err
	}
	if out.Len() < len(raw) {
		a.packed = out.Bytes()
	}
	return a, nil
}

// serve answers /static/*: always asked again, answered with 304 when nothing changed. Under static.At it never changes, and of
// other versions nothing is there.
func (all assets) serve(w http.ResponseWriter, r *http.Request) error {
	name, versioned := strings.CutPrefix(r.PathValue("*"), static.Version()+"/")
	a, ok := all[name]
	if !ok {
		return store.Errorf(store.NotFound, "There is no such file.")
	}
	h := w.Header()
	h.Set("Content-Type", a.kind)
	h.Set("Cache-Control", "no-cache")
	if versioned {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	body, etag := a.plain, `"`+a.etag+`"`
	if a.packed != nil {
		h.Set("Vary", "Accept-Encoding")
		if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			h.Set("Content-Encoding", "gzip")
			body, etag = a.packed, `"`+a.etag+`-gzip"`
		}
	}
	h.Set("Etag", etag)
	if matches(r.Header.Get("If-None-Match"), etag) {
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	_, _ = w.Write(body)
	return nil
}

func matches(header, etag string) bool {
	for one := range strings.SplitSeq(header, ",") {
		if strings.TrimPrefix(strings.TrimSpace(one), "W/") == etag {
			return true
		}
	}
	return false
}
