package intake

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"time"

	"swardbook/store"
)

// Limits of one push.
const (
	Proto    = 1       // the protocol spoken here
	MaxOps   = 500     // operations
	MaxBytes = 1 << 20 // bytes of the body, unpacked
	maxName  = 64      // characters of a device, an epoch, an id
	maxN     = 1 << 53 // a phone counts in floating point
)

// Request is the body of one push, its envelope checked.
type Request struct {
	Proto  int
	App    string    // build of the page
	Device string    // the phone's own name for itself
	Epoch  string    // the epoch the phone last spoke to, "" before the first answer
	Sent   time.Time // by the phone's clock; zero when the phone didn't say
	Unsent int       // how many operations the phone still keeps, this push included
	Ops    []Op      // a run n, n+1, …
}

// Op is one operation as it came: its number, its id, and its own bytes.
type Op struct {
	N   int64
	ID  string
	Raw json.RawMessage

	said *wire // as it was read when it came in; nil for one that was made here
}

// Sentences about a body that can't be taken as a whole. The phone keeps everything and tries again.
const (
	sayCut      = "What the phone sent arrived damaged or cut short. Everything is still kept on the phone; send again."
	sayEnvelope = "What the phone sent has not the form of a push. Everything is still kept on the phone."
	sayTooMuch  = "The phone sent too much at once. Everything is still kept on the phone; it will be sent in smaller parts."
	sayOld      = "This page is too old to send. Everything is still kept on the phone; load the page again to update it."
	sayNew      = "This page is newer than the office's program. Everything is still kept on the phone; the office must update."
	sayOp       = "One of the operations sent has no number or no id. Everything is still kept on the phone."
	sayRun      = "The operations sent are not a run of numbers without holes. Everything is still kept on the phone."
)

// envelope mirrors the wire; pointers tell what is missing from what is zero.
type envelope struct {
	Proto  *int               `json:"proto"`
	App    string             `json:"app"`
	Device string             `json:"device"`
	Epoch  string             `json:"epoch"`
	Sent   string             `json:"sent"`
	Unsent int                `json:"unsent"`
	Ops    *[]json.RawMessage `json:"ops"`
}

// Decode reads the body of a push. It is strict about the envelope and tolerant about what is in each operation: every
// operation with a number and an id is kept with the bytes it came in. A limit of 0 means MaxBytes.
func Decode(r io.Reader, limit int64) (Request, error) {
	if limit <= 0 {
		limit = MaxBytes
	}
	raw, err := io.ReadAll(io.LimitReader(r, limit+1))
	var tooMuch *http.MaxBytesError
	if errors.As(err, &tooMuch) {
		return Request{}, &store.Error{Kind: store.TooLarge, Say: sayTooMuch, Err: err}
	}
	if err != nil {
		return Request{}, &store.Error{Kind: store.Invalid, Say: sayCut, Err: err}
	}
	if int64(len(raw)) > limit {
		return Request{}, store.Errorf(store.TooLarge, sayTooMuch)
	}
	return decode(raw)
}

func decode(raw []byte) (Request, error) {
	if env, ops, ok := quickly(raw); ok && env.check() == nil {
		if req, err := env.request(ops); err == nil {
			return req, nil
		}
	}
	return slowly(raw)
}

// slowly reads a body of any shape, and says what is wrong with it.
func slowly(raw []byte) (Request, error) {
	var env envelope
	if err := json.Unmarshal(raw, &env); err != nil {
		return Request{}, envelopeError(err)
	}
	if err := env.check(); err != nil {
		return Request{}, err
	}
	ops := make([]Op, 0, len(*env.Ops))
	for _, raw := range *env.Ops {
		op, err := decodeOp(raw)
		if err != nil {
			return Request{}, err
		}
		ops = append(ops, op)
	}
	return env.request(ops)
}

// envelopeError tells a body that was cut from one that is whole but of another form.
func envelopeError(err error) error {
	say := sayCut
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		say = sayEnvelope
	}
	return &store.Error{Kind: store.Invalid, Say: say, Err: err}
}

func (e envelope) check() error {
	switch {
	case e.Proto == nil:
		return invalid(sayEnvelope, "proto is missing")
	case *e.Proto < Proto:
		return store.Errorf(store.Outdated, sayOld)
	case *e.Proto > Proto:
		return store.Errorf(store.Outdated, sayNew)
	case !usable(e.Device):
		return invalid(sayEnvelope, "device is missing or not a name")
	case e.Epoch != "" && !usable(e.Epoch):
		return invalid(sayEnvelope, "epoch is not a name")
	case e.Unsent < 0:
		return invalid(sayEnvelope, "unsent is negative")
	case e.Ops == nil:
		return invalid(sayEnvelope, "ops is missing")
	case len(*e.Ops) > MaxOps:
		return store.Errorf(store.TooLarge, sayTooMuch)
	}
	return nil
}

// request is what the envelope says, with its operations.
func (e envelope) request(ops []Op) (Request, error) {
	req := Request{Proto: *e.Proto, App: clip(e.App, 200), Device: e.Device, Epoch: e.Epoch, Unsent: e.Unsent, Ops: ops}
	if e.Sent != "" {
		sent, err := time.Parse(time.RFC3339, e.Sent)
		if err != nil {
			return Request{}, &store.Error{Kind: store.Invalid, Say: sayEnvelope, Err: err}
		}
		req.Sent = sent
	}
	for i, op := range ops {
		if i > 0 && op.N != ops[i-1].N+1 {
			return Request{}, invalid(sayRun, "ops are not a run")
		}
	}
	return req, nil
}

// head is what an operation can't be kept without.
type head struct {
	N  *int64  `json:"n"`
	ID *string `json:"id"`
}

// decodeOp reads an operation once. Whatever else of it can't be read, it is kept by its number and its id.
func decodeOp(raw json.RawMessage) (Op, error) {
	return newOp(raw, readWire(raw))
}

func newOp(raw json.RawMessage, w *wire) (Op, error) {
	h := w.head
	if w.broken {
		h = head{}
		if err := json.Unmarshal(raw, &h); err != nil {
			return Op{}, &store.Error{Kind: store.Invalid, Say: sayOp, Err: err}
		}
	}
	if h.N == nil || *h.N < 1 || *h.N > maxN || h.ID == nil || !usable(*h.ID) {
		return Op{}, invalid(sayOp, "an operation has no usable n or id")
	}
	return Op{N: *h.N, ID: *h.ID, Raw: raw, said: w}, nil
}

func invalid(say, why string) error {
	return &store.Error{Kind: store.Invalid, Say: say, Err: errors.New(why)}
}

// usable reports whether s can name a device or an operation: 1 to 64 visible ASCII characters.
func usable(s string) bool {
	for i := range len(s) {
		if s[i] <= ' ' || s[i] > '~' {
			return false
		}
	}
	return s != "" && len(s) <= maxName
}

// clip shortens s to at most n runes.
func clip(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}
