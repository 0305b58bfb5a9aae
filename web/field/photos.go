package field

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"swardbook/store/intake"
)

// photoPiece takes one piece of a photo.
func (f *Field) photoPiece(w http.ResponseWriter, r *http.Request) error {
	if !sentAs(r, "application/partial-upload") {
		return refuse(w, http.StatusUnsupportedMediaType, "media_type", "A piece of a photo is sent as application/partial-upload.")
	}
	offset, wrong := whole(r, "Upload-Offset")
	length, bad := whole(r, "Upload-Length")
	if wrong || bad {
		return refuse(w, http.StatusBadRequest, "malformed", "The piece of a photo does not say where it begins and how long the photo is.")
	}
	done, err := f.photos.Append(r.Context(), r.PathValue("sha"), offset, length, photoType(r), r.Body)
	if err != nil {
		return pieceError(w, err)
	}
	progress(w, done)
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// photoType is the type that the phone claims, when it is one that is taken; the bytes decide in the end.
func photoType(r *http.Request) string {
	claimed := r.Header.Get("Upload-Media-Type")
	if slices.Contains(intake.PhotoTypes, claimed) {
		return claimed
	}
	return ""
}

// pieceError says where to go on, when that can be said.
func pieceError(w http.ResponseWriter, err error) error {
	var up *intake.UploadError
	if !errors.As(err, &up) {
		return malformed(w, err)
	}
	if up.Offset >= 0 {
		w.Header().Set("Upload-Offset", strconv.FormatInt(up.Offset, 10))
	}
	names := map[int]string{http.StatusConflict: "conflict", http.StatusUnprocessableEntity: "invalid", http.StatusInsufficientStorage: "no_room"}
	return refuse(w, up.Status, names[up.Status], up.Err.Say)
}

// photoHead says how much of a photo is here.
func (f *Field) photoHead(w http.ResponseWriter, r *http.Request) error {
	have, err := f.photos.Head(r.Context(), r.PathValue("sha"))
	if err != nil {
		return pieceError(w, err)
	}
	progress(w, have)
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// photoBytes serves a photo that is whole. Its name is its digest, so it never changes.
func (f *Field) photoBytes(w http.ResponseWriter, r *http.Request) error {
	file, photo, err := f.photos.Open(r.Context(), r.PathValue("sha"))
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", photo.Type)
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	h.Set("ETag", strconv.Quote(photo.SHA))
	http.ServeContent(w, r, "", info.ModTime(), file)
	return nil
}

func progress(w http.ResponseWriter, p intake.Progress) {
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Upload-Offset", strconv.FormatInt(p.Offset, 10))
	h.Set("Upload-Complete", map[bool]string{true: "?1", false: "?0"}[p.Complete])
}

// whole reads a header that is a whole number.
func whole(r *http.Request, name string) (n int64, wrong bool) {
	n, err := strconv.ParseInt(r.Header.Get(name), 10, 64)
	return n, err != nil || n < 0
}
