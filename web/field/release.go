package field

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"sort"
	"strings"
	"sync"

	"github.com/a-h/templ"

	"swardbook/diagnose/knowledge"
	"swardbook/static"
	"swardbook/web/page"
)

// File is one file of a release as the worker installs it: nothing but exactly these bytes will do.
type File struct {
	URL    string `json:"url"`
	Type   string `json:"type"`
	SHA256 string `json:"sha256"`
}

// release is everything the phone's pages need to work without signal, as one version.
type release struct {
	Version string            `json:"version"`
	Files   []File            `json:"files"`
	bodies  map[string][]byte // what is made here rather than read from the embedded files, by URL
	zipped  map[string][]byte // the same, compressed
}

// entries are the modules that the shells load; what they import belongs to the release too.
var entries = []string{"day.js", "visit.js", "zone.js", "unsent.js", "apply.js", "load.js", "calibrate.js", "think.js"}

// plain are the embedded files that the shells use besides modules.
var plain = []string{
	"css/look.css", "css/field.css", "img/mark.svg", "img/draw.svg", "text/en.common.json", "text/en.field.json", "text/es.common.json", "text/es.field.json",
}

var types = map[string]string{
	".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".json": "application/json", ".svg": "image/svg+xml",
	".webmanifest": "application/manifest+json",
}

// thinkURL is the worker that weighs beside a page. It lies under the pages' path, so that without signal the worker that answers
// for those answers for it too.
const thinkURL = "/field/think.js"

const manifestURL = "/manifest.webmanifest"

// shells are the pages of the phone by URL, in every language: English where the links lead, the others one step below
// /field/. A page finds the language of whoever holds the phone and puts that shell in its own place.
func shells(b knowledge.Bundle, tongues []page.Words, version string, early map[string][]string) map[string]templ.Component {
	all := map[string]templ.Component{}
	for i, words := range tongues {
		at := "/field/"
		if i > 0 {
			at += words.Lang + "/"
		}
		f := page.NewField(b, words, version)
		f.Early = early
		for name, shell := range map[string]templ.Component{
			"": page.FieldDay(f), "visit": page.FieldVisit(f), "zone": page.FieldZone(f), "unsent": page.FieldUnsent(f),
			"apply": page.FieldApply(f), "load": page.FieldLoad(f), "calibrate": page.FieldCalibrate(f),
		} {
			all[at+name] = shell
		}
	}
	return all
}

// newRelease lists the release. Its version is the digest of all its files; the shells then carry it.
func newRelease(files fs.FS, b knowledge.Bundle, tongues []page.Words) (release, error) {
	unnamed, err := listed(files, b, tongues, "")
	if err != nil {
		return release{}, err
	}
	sum := sha256.New()
	for _, f := range unnamed.Files {
		fmt.Fprintf(sum, "%s %s\n", f.URL, f.SHA256)
	}
	version := hex.EncodeToString(sum.Sum(nil)[:8])
	rel, err := listed(files, b, tongues, version)
	rel.Version = version
	if err == nil {
		err = rel.zip()
	}
	return rel, err
}

// listed makes the shells under a version and lists every file with its digest.
func listed(files fs.FS, b knowledge.Bundle, tongues []page.Words, version string) (release, error) {
	rel := release{bodies: map[string][]byte{}}
	early := map[string][]string{}
	for _, entry := range entries {
		modules, err := imported(files, []string{entry}, atOnce)
		if err != nil {
			return release{}, err
		}
		early[entry] = modules[1:]
	}
	for url, shell := range shells(b, tongues, version, early) {
		var out bytes.Buffer
		if err := shell.Render(context.Background(), &out); err != nil {
			return release{}, err
		}
		rel.add(url, ".html", out.Bytes())
	}
	manifest, err := manifestOf(tongues[0])
	if err != nil {
		return release{}, err
	}
	rel.add(manifestURL, ".webmanifest", manifest)
	rel.add(thinkURL, ".js", []byte("import '"+static.At("js/think.js")+"';\n"))
	if err := rel.embedded(files); err != nil {
		return release{}, err
	}
	sort.Slice(rel.Files, func(i, j int) bool { return rel.Files[i].URL < rel.Files[j].URL })
	return rel, nil
}

// zip compresses what is made here once, so that a phone on a thin line gets a form of many checks quickly.
func (rel *release) zip() (err error) {
	rel.zipped = map[string][]byte{}
	for url, body := range rel.bodies {
		if rel.zipped[url], err = zipped(body); err != nil {
			return err
		}
	}
	return nil
}

func zipped(body []byte) ([]byte, error) {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(body); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

var packers = sync.Pool{New: func() any {
	z, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // the level is one of the package's own
	return z
}}

// zippedSoon packs what is made for one request: sooner, and a little larger.
func zippedSoon(body []byte) ([]byte, error) {
	z := packers.Get().(*gzip.Writer)
	defer packers.Put(z)
	var out bytes.Buffer
	z.Reset(&out)
	if _, err := z.Write(body); err != nil {
		return nil, err
	}
	err := z.Close()
	return out.Bytes(), err
}

// write answers with whichever form of a body the phone can unpack.
func write(w http.ResponseWriter, r *http.Request, plain, packed []byte) {
	w.Header().Set("Vary", "Accept-Encoding")
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		w.Header().Set("Content-Encoding", "gzip")
		plain = packed
	}
	_, _ = w.Write(plain)
}

func (rel *release) add(url, ext string, body []byte) {
	rel.bodies[url] = body
	rel.list(url, ext, body)
}

func (rel *release) list(url, ext string, body []byte) {
	sum := sha256.Sum256(body)
	rel.Files = append(rel.Files, File{URL: url, Type: types[ext], SHA256: hex.EncodeToString(sum[:])})
}

func (rel *release) embedded(files fs.FS) error {
	modules, err := imported(files, entries, imports)
	if err != nil {
		return err
	}
	for _, name := range append(modules, plain...) {
		body, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		at := "/static/" + name
		if ext := path.Ext(name); ext == ".js" || ext == ".json" {
			at = static.At(name)
		}
		rel.list(at, path.Ext(name), body)
	}
	return nil
}

// made are the URLs of what is made here, in order.
func (rel *release) made() []string {
	urls := make([]string, 0, len(rel.bodies))
	for url := range rel.bodies {
		urls = append(urls, url)
	}
	slices.Sort(urls)
	return urls
}

// imports finds the modules of ours that a module names in its import and export lines, and those it fetches when they are
// first wanted: without signal they must be there as well.
var imports = regexp.MustCompile(`(?m)(?:^(?:import|export)\b[^;'"]*|\bimport\()['"]\./([\w.-]+\.js)['"]`)

// atOnce finds those that a browser follows before it runs a module.
var atOnce = regexp.MustCompile(`(?m)^(?:import|export)\b[^;'"]*['"]\./([\w.-]+\.js)['"]`)

// imported follows the imports of some modules and returns all of them as paths under static/.
func imported(files fs.FS, from []string, by *regexp.Regexp) ([]string, error) {
	var all []string
	seen := map[string]bool{}
	for queue := slices.Clone(from); len(queue) > 0; queue = queue[1:] {
		name := queue[0]
		if seen[name] {
			continue
		}
		seen[name] = true
		body, err := fs.ReadFile(files, "js/"+name)
		if err != nil {
			return nil, fmt.Errorf("field: a module is missing: %w", err)
		}
		all = append(all, "js/"+name)
		for _, m := range by.FindAllSubmatch(body, -1) {
			queue = append(queue, string(m[1]))
		}
	}
	return all, nil
}

// manifestOf lets the phone put the day sheet on its home screen.
func manifestOf(words page.Words) ([]byte, error) {
	return json.Marshal(map[string]any{
		"name": words.T("app.name"), "short_name": words.T("app.name"), "id": "/field/", "start_url": "/field/", "scope": "/",
		"display": "standalone", "background_color": "#fbfaf4", "theme_color": "#1f5526",
		"icons":     []map[string]string{{"src": "/static/img/mark.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"}},
		"shortcuts": []map[string]any{{"name": words.T("day.title"), "url": "/field/", "icons": []map[string]string{{"src": "/static/img/mark.svg", "sizes": "any", "type": "image/svg+xml"}}}},
	})
}
