package intake

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"swardbook/store"
)

// CopyKind is the kind that a saved copy names itself as: everything a phone had not got to the office, in one file.
const CopyKind = "swardbook-copy"

// MaxCopy is the largest saved copy taken, in bytes.
const MaxCopy = 256 << 20

// Copied is what became of a saved copy.
type Copied struct {
	Device      string
	Rows        int // records in the file
	Fresh       int // of these, not here before
	Aside       int // of these, set aside with their reason
	Photos      int // photos in the file
	FreshPhotos int
	Problems    []string // what could not be taken, each a sentence
}

// Sentences about a file that can't be taken, or not to its end.
const (
	sayNoCopy   = "This file is not a copy saved on a phone's “unsent” page. Choose the file that the phone handed over, unchanged."
	sayCopyCut  = "The file ends too early or is damaged on the way: %d of its records were taken in before that. Hand it over again; what is here already is not taken twice."
	sayCopyBig  = "The file is larger than 256 MB. Send from the phone itself, or save a copy again after some of its photos are through."
	sayPhotoOff = "A photo in the file is damaged (%.8s). It is still on the phone, unless the phone is lost."
	sayPhotoNot = "A photo in the file can't be taken in (%.8s): %s"
)

// Copy takes in a saved copy: the same records under the same ids as the phone would send, so that it can be taken twice and
// the phone may still send them itself. Whoever hands it in vouches for its authors. Records that were read before a fault of
// the file stay taken.
func (s *Service) Copy(ctx context.Context, from Sender, photos PhotoTaker, r io.Reader) (Copied, error) {
	from.Vouches = true
	c := &copyReader{Service: s, ctx: ctx, from: from, photos: photos, dec: json.NewDecoder(r)}
	c.take = c.push
	err := c.whole()
	return c.res, err
}

var errNoCopy = errors.New("not a saved copy")

// copyReader goes through the file once, member by member, and holds one batch or one photo at a time.
type copyReader struct {
	*Service
	ctx    context.Context
	from   Sender
	photos PhotoTaker
	dec    *json.Decoder
	take   func(batch []Op) error // push, but for tests of the reading alone
	head   map[string]string
	proto  int
	seen   map[string]bool
	res    Copied
	moved  string // the name under which rows go in when the phone's own has no place for them
	next   int64  // its next number
}

// whole reads the file to its end, or says what is wrong with it.
func (c *copyReader) whole() error {
	err := c.read()
	switch {
	case err == nil && c.head["kind"] == CopyKind && c.seen["ops"]:
		return nil
	case err == nil, errors.Is(err, errNoCopy):
		return store.Errorf(store.Invalid, sayNoCopy)
	}
	return c.fault(err)
}

// fault tells a file that is damaged from an office that can't take it now.
func (c *copyReader) fault(err error) error {
	var known *store.Error
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	if errors.As(err, &known) {
		return err
	}
	if !errors.As(err, &syntax) && !errors.As(err, &kind) && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	if c.head["kind"] != CopyKind {
		return &store.Error{Kind: store.Invalid, Say: sayNoCopy, Err: err}
	}
	return &store.Error{Kind: store.Invalid, Say: fmt.Sprintf(sayCopyCut, c.res.Rows), Err: err}
}

func (c *copyReader) read() error {
	c.head, c.seen = map[string]string{}, map[string]bool{}
	if err := c.open('{'); err != nil {
		return err
	}
	for c.dec.More() {
		key, err := c.dec.Token()
		if err != nil {
			return err
		}
		name, _ := key.(string)
		if c.seen[name] {
			return errNoCopy
		}
		c.seen[name] = true
		if err := c.member(name); err != nil {
			return err
		}
	}
	_, err := c.dec.Token()
	return err
}

func (c *copyReader) open(want json.Delim) error {
	t, err := c.dec.Token()
	if err == nil && t != want {
		err = errNoCopy
	}
	return err
}

// member reads one member. Records and photos come after what says whose they are.
func (c *copyReader) member(name string) error {
	switch name {
	case "kind", "app", "device", "epoch", "sent":
		var text string
		if err := c.dec.Decode(&text); err != nil {
			return err
		}
		c.head[name] = text
		return nil
	case "proto":
		return c.dec.Decode(&c.proto)
	case "ops", "photos":
		if c.head["kind"] != CopyKind || c.proto != Proto || !usable(c.head["device"]) {
			return errNoCopy
		}
		c.res.Device = c.head["device"]
		return c.list(map[string]func() error{"ops": c.rows, "photos": c.photo}[name])
	}
	var ignored json.RawMessage
	return c.dec.Decode(&ignored)
}

func (c *copyReader) list(read func() error) error {
	if err := c.open('['); err != nil {
		return err
	}
	for c.dec.More() {
		if err := read(); err != nil {
			return err
		}
	}
	_, err := c.dec.Token()
	return err
}

// rows reads as many records as one push takes and pushes them. What was read before the file breaks off is pushed too.
func (c *copyReader) rows() error {
	var batch []Op
	size := 0
	var broken error
	for broken == nil && c.dec.More() && len(batch) < MaxOps && size < MaxBytes/2 {
		var raw json.RawMessage
		if broken = c.dec.Decode(&raw); broken != nil {
			break
		}
		op, err := decodeOp(raw)
		if err != nil || len(batch) > 0 && op.N != batch[len(batch)-1].N+1 {
			broken = errNoCopy
			break
		}
		batch, size = append(batch, op), size+len(raw)
	}
	if len(batch) > 0 {
		if err := c.take(batch); err != nil {
			return err
		}
	}
	return broken
}

func (c *copyReader) push(batch []Op) error {
	ids := make([]string, len(batch))
	for i, op := range batch {
		ids[i] = op.ID
	}
	slices.Sort(ids)
	ids = slices.Compact(ids) // a file may name one twice
	here, err := c.store.Here(c.ctx, ids)
	if err != nil {
		return err
	}
	reply, err := c.pushAs(batch)
	if err != nil {
		return err
	}
	c.res.Rows += len(batch)
	c.res.Fresh += len(ids) - here
	c.res.Aside += len(reply.Attention)
	return nil
}

// pushAs pushes under the phone's own name. Where that leaves a hole, or the name was used twice, the rows go in under a name
// made of it, from number 1: their ids are what counts.
func (c *copyReader) pushAs(batch []Op) (Reply, error) {
	if c.moved == "" {
		reply, err := c.Service.Push(c.ctx, c.from, c.request(c.head["device"], batch))
		if err != nil || !reply.Hole && !reply.Fork {
			return reply, err
		}
		sum := sha256.Sum256([]byte(c.head["device"] + " " + batch[0].ID))
		c.moved, c.next = "copy-"+hex.EncodeToString(sum[:12]), 1
	}
	again := make([]Op, len(batch))
	for i, op := range batch {
		op.N = c.next + int64(i)
		again[i] = op
	}
	c.next += int64(len(batch))
	reply, err := c.Service.Push(c.ctx, c.from, c.request(c.moved, again))
	if err == nil && (reply.Hole || reply.Fork) {
		err = store.Errorf(store.Conflict, "Another copy of this phone was taken in before, with other records. Nothing of this one was lost; send from the phone itself.")
	}
	return reply, err
}

// request has no time of sending: the file may have lain for days, and says nothing of how far the phone's clock is off.
func (c *copyReader) request(device string, batch []Op) Request {
	return Request{Proto: Proto, App: clip(c.head["app"], 200), Device: device, Epoch: c.head["epoch"], Ops: batch}
}

type copyPhoto struct {
	SHA    string `json:"sha"`
	Size   int64  `json:"size"`
	Type   string `json:"type"`
	Base64 string `json:"base64"`
}

// photo takes one photo. One that is damaged or not a photo is said and holds up nothing else.
func (c *copyReader) photo() error {
	var p copyPhoto
	if err := c.dec.Decode(&p); err != nil {
		return err
	}
	c.res.Photos++
	raw, err := base64.StdEncoding.DecodeString(p.Base64)
	sum := sha256.Sum256(raw)
	if err != nil || hex.EncodeToString(sum[:]) != p.SHA {
		c.res.Problems = append(c.res.Problems, fmt.Sprintf(sayPhotoOff, p.SHA))
		return nil
	}
	fresh, err := c.photos.Take(c.ctx, p.SHA, p.Type, raw)
	var said *store.Error
	if errors.As(err, &said) && said.Kind != store.Busy {
		c.res.Problems = append(c.res.Problems, fmt.Sprintf(sayPhotoNot, p.SHA, said.Say))
		return nil
	}
	if fresh {
		c.res.FreshPhotos++
	}
	return err
}

// PhotoTaker takes whole photos.
type PhotoTaker interface {
	Take(ctx context.Context, sha, typ string, raw []byte) (fresh bool, err error)
}

// Take stores a whole photo, going on where a phone left off. It reports whether it was not here before.
func (p *Photos) Take(ctx context.Context, sha, typ string, raw []byte) (fresh bool, err error) {
	if !photoType(typ) {
		typ = ""
	}
	have, err := p.Head(ctx, sha)
	if err != nil || have.Complete {
		return false, err
	}
	at := min(have.Offset, int64(len(raw)))
	_, err = p.Append(ctx, sha, at, int64(len(raw)), typ, bytes.NewReader(raw[at:]))
	var up *UploadError
	if errors.As(err, &up) && up.Status == 422 && have.Offset > 0 { // what the phone had sent before was damaged: it is gone now
		_, err = p.Append(ctx, sha, 0, int64(len(raw)), typ, bytes.NewReader(raw))
	}
	return err == nil, err
}
