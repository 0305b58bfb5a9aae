package desk

import (
	"context"
	"io"
	"net/http"
	"os"

	"swardbook/store"
)

// Photos opens photos whose bytes the office has.
type Photos interface {
	Open(ctx context.Context, sha string) (*os.File, store.Photo, error)
	Take(ctx context.Context, sha, typ string, raw []byte) (fresh bool, err error)
	Erase(ctx context.Context) error
}

func (d *Desk) hasPhoto(ctx context.Context, sha string) bool {
	f, _, err := d.photos.Open(ctx, sha)
	if err != nil {
		return false
	}
	_ = f.Close()
	return true
}

// wasLetGo reports whether a photo that is not here will not come either.
func (d *Desk) wasLetGo(ctx context.Context, sha string) bool {
	gone, err := d.db.WasLetGo(ctx, sha)
	return err == nil && gone
}

// mostPhoto is the biggest photo that is read whole, in bytes.
const mostPhoto = 32 << 20

// photoBytes reads a photo whole.
func (d *Desk) photoBytes(sha string) ([]byte, error) {
	f, _, err := d.photos.Open(context.Background(), sha)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(io.LimitReader(f, mostPhoto))
}

// Photo sends one photo. Its name is its digest, so it never changes.
func (d *Desk) Photo(w http.ResponseWriter, r *http.Request) error {
	f, photo, err := d.photos.Open(r.Context(), r.PathValue("sha"))
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", photo.Type)
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	w.Header().Set("Etag", `"`+r.PathValue("sha")+`"`)
	http.ServeContent(w, r, "", info.ModTime(), f)
	return nil
}
