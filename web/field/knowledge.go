package field

import (
	"fmt"
	"net/http"
)

// knowledge serves the bundle's own bytes, the ones this server weighs with. Its tag is the edition.
func (f *Field) knowledge(w http.ResponseWriter, r *http.Request) error {
	know := f.know()
	tag := fmt.Sprintf("%q", know.Edition)
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "private, no-cache")
	h.Set("ETag", tag)
	if tagged(r, tag) {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	_, _ = w.Write(know.JSON)
	return nil
}
