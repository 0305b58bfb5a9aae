package intake

import (
	"bytes"
	"context"
	"net/http"
	"slices"
	"strings"

	"swardbook/store"
)

func photoType(typ string) bool { return slices.Contains(PhotoTypes, typ) }

// noPhoto are kinds of files that no camera makes, whatever is claimed. Bytes of no known kind may be a photo yet: cameras are many.
var noPhoto = []string{"text/html", "text/xml", "application/pdf", "application/zip", "application/x-gzip"}

// typeOf settles a photo's type: as sent, else as the row that named it says, else as its first bytes show.
func (p *Photos) typeOf(ctx context.Context, photo store.Photo, head []byte) (string, error) {
	if kind, _, _ := strings.Cut(sniff(head), ";"); slices.Contains(noPhoto, kind) {
		return "", store.Errorf(store.Invalid, "This is not a photo.")
	}
	if photo.Type != "" {
		return photo.Type, nil
	}
	if known, err := p.store.PhotoState(ctx, photo.SHA); err == nil && photoType(known.Type) {
		return known.Type, nil
	}
	if typ := sniff(head); photoType(typ) {
		return typ, nil
	}
	return "", store.Errorf(store.Invalid, "This is not a photo.")
}

// typeOfFile is typeOf for a file that is in place already.
func (p *Photos) typeOfFile(ctx context.Context, photo store.Photo) (string, error) {
	_, head, err := p.digest(whole(photo.SHA))
	if err != nil {
		return "", photoFault(photo.SHA, err)
	}
	return p.typeOf(ctx, photo, head)
}

// sniff tells a type from the first bytes of a file; the standard library does not know HEIC.
func sniff(head []byte) string {
	if len(head) >= 12 && bytes.Equal(head[4:8], []byte("ftyp")) {
		switch string(head[8:12]) {
		case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1":
			return "image/heic"
		}
	}
	return http.DetectContentType(head)
}
