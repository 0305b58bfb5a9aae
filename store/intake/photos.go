package intake

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"sync"
	"syscall"

	"swardbook/store"
)

// MaxPhoto is the largest photo taken, in bytes.
const MaxPhoto = 25 << 20

// PhotoTypes are the types of photos taken.
var PhotoTypes = []string{"image/jpeg", "image/png", "image/webp", "image/heic"}

// PhotoStore keeps which photos are there.
type PhotoStore interface {
	// PhotoState returns what is known of a photo: wanted by a row, complete, or NotFound.
	PhotoState(ctx context.Context, sha string) (store.Photo, error)
	// PhotoDone enters a photo whose bytes are safe. Entering it twice is harmless.
	PhotoDone(ctx context.Context, p store.Photo) error
	// PhotoGone notes that a photo's bytes are lost, so that phones are asked for them again.
	PhotoGone(ctx context.Context, sha string) error
	// PhotoList returns every photo that is entered as complete.
	PhotoList(ctx context.Context) ([]store.Photo, error)
	ErasedPhotos(ctx context.Context) ([]string, error)
	PhotoErased(ctx context.Context, sha string) error
}

// Photos keeps the bytes of photos in a folder: ab/abcdef… once whole, ab/abcdef….part before. A file gets its final name
// only after its bytes matched the name and are on the disk, and only then its row.
type Photos struct {
	dir   *os.Root
	store PhotoStore
	fault func(step string) error // between two steps, for tests; nil otherwise
	room  Room

	mu   sync.Mutex
	busy map[string]bool
}

// NewPhotos returns the photos kept under dir.
func NewPhotos(dir *os.Root, s PhotoStore) *Photos {
	return &Photos{dir: dir, store: s, busy: map[string]bool{}}
}

// Progress is how much of a photo the office has.
type Progress struct {
	Offset   int64
	Complete bool
}

// UploadError is why a piece was not taken. Offset is where to go on, -1 when that can't be said now.
type UploadError struct {
	Status int // HTTP status: 409, 422 or 507
	Offset int64
	Err    *store.Error
}

// Error returns the sentence with its cause, for logs.
func (e *UploadError) Error() string { return e.Err.Error() }

// Unwrap returns the error with its kind and sentence.
func (e *UploadError) Unwrap() error { return e.Err }

func uploadError(status int, offset int64, kind store.Kind, say string, cause error) error {
	return &UploadError{Status: status, Offset: offset, Err: &store.Error{Kind: kind, Say: say, Err: cause}}
}

// Append takes one piece of a photo of length bytes that begins at offset. What arrived of a piece that was cut is kept.
// A photo that is already there is complete whatever the piece says.
func (p *Photos) Append(ctx context.Context, sha string, offset, length int64, typ string, r io.Reader) (Progress, error) {
	if err := checkPiece(sha, offset, length, typ); err != nil {
		return Progress{}, err
	}
	if err := p.noRoom(); err != nil {
		return Progress{}, err
	}
	if !p.enter(sha) {
		return Progress{}, uploadError(http.StatusConflict, -1, store.Conflict, "This photo is being received over another connection.", nil)
	}
	defer p.leave(sha)
	if size, err := p.size(whole(sha)); err == nil {
		return p.finish(ctx, store.Photo{SHA: sha, Size: size, Type: typ})
	} else if !errors.Is(err, fs.ErrNotExist) {
		return Progress{}, photoFault(sha, err)
	}
	have, err := p.piece(sha, offset, length, r)
	if err != nil || have < length {
		return Progress{Offset: have}, err
	}
	return p.complete(ctx, store.Photo{SHA: sha, Size: length, Type: typ})
}

func checkPiece(sha string, offset, length int64, typ string) error {
	switch {
	case !isSHA(sha):
		return store.Errorf(store.Invalid, "A photo is named by the 64 hex digits of its SHA-256.")
	case length > MaxPhoto:
		return store.Errorf(store.TooLarge, "This photo is larger than 25 MB. It is still kept on the phone.")
	case length <= 0 || offset < 0 || offset > length:
		return store.Errorf(store.Invalid, "The piece of a photo does not say where it begins and how long the photo is.")
	case typ != "" && !photoType(typ):
		return store.Errorf(store.Invalid, "Photos are taken as JPEG, PNG, WebP or HEIC. This one is still kept on the phone.")
	}
	return nil
}

// piece appends r to the part and returns how much of the photo is there now.
func (p *Photos) piece(sha string, offset, length int64, r io.Reader) (int64, error) {
	f, err := p.openPart(sha)
	if err != nil {
		return 0, photoFault(sha, err)
	}
	defer f.Close()
	have, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return 0, photoFault(sha, err)
	}
	if have > length { // bytes of another photo under this name: nobody could ever go on from there
		return 0, p.discard(sha, "What was here of this photo is longer than the photo; it is sent again from its beginning.")
	}
	if have != offset {
		return have, uploadError(http.StatusConflict, have, store.Conflict, "The photo goes on at another place.", nil)
	}
	return p.copyPiece(f, sha, have, length, r)
}

func (p *Photos) copyPiece(f *os.File, sha string, have, length int64, r io.Reader) (int64, error) {
	dst := &diskWriter{w: f}
	n, err := io.Copy(dst, io.LimitReader(r, length-have))
	have += n
	switch {
	case dst.err != nil:
		return have, photoFault(sha, dst.err)
	case err != nil:
		return have, &store.Error{Kind: store.Invalid, Say: "The connection broke off. What arrived of the photo is kept.", Err: err}
	}
	if extra, _ := io.CopyN(io.Discard, r, 1); extra > 0 {
		_ = f.Truncate(have - n)
		return have - n, store.Errorf(store.Invalid, "The piece is longer than the photo.")
	}
	return have, nil
}

// diskWriter remembers that it was the writing that failed, not the reading.
type diskWriter struct {
	w   io.Writer
	err error
}

func (d *diskWriter) Write(b []byte) (int, error) {
	n, err := d.w.Write(b)
	d.err = err
	return n, err
}

// complete checks a part that has all its bytes, makes it safe and gives it its final name.
func (p *Photos) complete(ctx context.Context, photo store.Photo) (Progress, error) {
	sum, head, err := p.digest(part(photo.SHA))
	if err != nil {
		return Progress{}, photoFault(photo.SHA, err)
	}
	if sum != photo.SHA {
		return Progress{}, p.discard(photo.SHA, "The photo arrived damaged and is sent again from its beginning.")
	}
	if photo.Type, err = p.typeOf(ctx, photo, head); err != nil {
		return Progress{}, p.discard(photo.SHA, "This is not a photo as JPEG, PNG, WebP or HEIC. It is still kept on the phone.")
	}
	if err := p.settle(photo.SHA); err != nil {
		return Progress{}, photoFault(photo.SHA, err)
	}
	return p.finish(ctx, photo)
}

func (p *Photos) discard(sha, say string) error {
	if err := p.dir.Remove(part(sha)); err != nil {
		return photoFault(sha, err)
	}
	return uploadError(http.StatusUnprocessableEntity, 0, store.Invalid, say, nil)
}

// settle makes the part durable under its final name.
func (p *Photos) settle(sha string) error {
	for _, step := range []func() error{
		func() error { return p.sync(part(sha)) },
		func() error { return p.at("synced") },
		func() error { return p.dir.Rename(part(sha), whole(sha)) },
		func() error { return p.at("renamed") },
		func() error { return p.sync(shard(sha)) },
		func() error { return p.at("folder synced") },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func (p *Photos) at(step string) error {
	if p.fault == nil {
		return nil
	}
	return p.fault(step)
}

// finish enters a photo whose file is in place.
func (p *Photos) finish(ctx context.Context, photo store.Photo) (Progress, error) {
	known, err := p.store.PhotoState(ctx, photo.SHA)
	if err == nil && known.Complete {
		return Progress{Offset: known.Size, Complete: true}, nil
	}
	if err != nil && store.KindOf(err) != store.NotFound {
		return Progress{}, err
	}
	if photo.Type == "" {
		if photo.Type, err = p.typeOfFile(ctx, photo); err != nil {
			return Progress{}, err
		}
	}
	photo.Complete = true
	if err := p.store.PhotoDone(ctx, photo); err != nil {
		return Progress{}, err
	}
	return Progress{Offset: photo.Size, Complete: true}, nil
}

// Head says how much of a photo is here. A whole file whose row was lost is entered now.
func (p *Photos) Head(ctx context.Context, sha string) (Progress, error) {
	if !isSHA(sha) {
		return Progress{}, store.Errorf(store.Invalid, "A photo is named by the 64 hex digits of its SHA-256.")
	}
	if size, err := p.size(whole(sha)); err == nil {
		return p.finish(ctx, store.Photo{SHA: sha, Size: size})
	}
	size, err := p.size(part(sha))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return Progress{}, photoFault(sha, err)
	}
	return Progress{Offset: size}, nil
}

// Open returns the bytes of a complete photo. The caller closes the file.
func (p *Photos) Open(ctx context.Context, sha string) (*os.File, store.Photo, error) {
	if !isSHA(sha) {
		return nil, store.Photo{}, store.Errorf(store.NotFound, "There is no such photo.")
	}
	photo, err := p.store.PhotoState(ctx, sha)
	if err != nil {
		return nil, store.Photo{}, err
	}
	f, err := p.dir.Open(whole(sha))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, store.Photo{}, store.Errorf(store.NotFound, "This photo has not arrived at the office yet.")
	}
	if err != nil {
		return nil, store.Photo{}, photoFault(sha, err)
	}
	return f, photo, nil
}

func (p *Photos) enter(sha string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.busy[sha] {
		return false
	}
	p.busy[sha] = true
	return true
}

func (p *Photos) leave(sha string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.busy, sha)
}

// photoFault names what went wrong with a file; a full disk is the office's to mend, and the phone tries later.
func photoFault(sha string, err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return uploadError(http.StatusInsufficientStorage, -1, store.Busy, "The office has no room for photos now. This one is still kept on the phone.", err)
	}
	return fmt.Errorf("photo %s: %w", sha, err)
}
