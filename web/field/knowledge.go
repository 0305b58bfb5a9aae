package field

import (
	"fmt"
	"net/http"
)

// knowledge serves the bundle's own bytes, the ones this server weighs with. Its tag is the edition.
func (f *Field) knowledge(w http.ResponseWriter, r *http.Request) error {
	d := f.drawn()
	know := d.from
	tag := fmt.Sprintf("%q", know.Edition)
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", tag)
	if tagged(r, tag) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	write(w, r, know.JSON, d.packedKnow)
	return nil
}
