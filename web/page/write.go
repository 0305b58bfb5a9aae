package page

//go:generate sh -c "cd ../.. && go tool -modfile=.ci/tools/go.mod templ generate"

import (
	"bytes"
	"net/http"

	"github.com/a-h/templ"
)

// Write draws c into memory first, so that a page that cannot be drawn is an error and never half a page.
func Write(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	var out bytes.Buffer
	if err := c.Render(r.Context(), &out); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "no-store")
	}
	w.WriteHeader(status)
	_, _ = w.Write(out.Bytes())
	return nil
}
