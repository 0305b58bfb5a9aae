package intake

import (
	"bytes"
	"encoding/json"
	"strconv"
	"unicode/utf8"
)

// quick reads a push as our own pages write it, in one pass and without copying: texts are cuts of one string. Whatever it does not
// know it leaves to encoding/json, an operation or the whole body, so it decides nothing: FuzzQuick holds it to the same answer.
type quick struct {
	raw  []byte
	text string // the same bytes
	at   int
	odd  bool // something that is not read here
}

// quickly reads the whole body; ok is false when it is for encoding/json.
func quickly(raw []byte) (env envelope, ops []Op, ok bool) {
	if !utf8.Valid(raw) {
		return env, nil, false
	}
	q := &quick{raw: raw, text: string(raw)}
	seen := 0
	q.object(func(name string) {
		q.once(&seen, name, envelopeNames[name])
		switch name {
		case "proto":
			proto := int(q.whole())
			env.Proto = &proto
		case "app":
			env.App = q.string()
		case "device":
			env.Device = q.string()
		case "epoch":
			env.Epoch = q.string()
		case "sent":
			env.Sent = q.string()
		case "unsent":
			env.Unsent = int(q.whole())
		case "ops":
			env.Ops = &[]json.RawMessage{}
			ops = q.ops()
		}
	})
	q.blank()
	return env, ops, !q.odd && q.at == len(raw)
}

// The members that are known, each with a bit of its own: one that comes twice is for encoding/json.
var (
	envelopeNames = bits("proto", "app", "device", "epoch", "sent", "unsent", "ops")
	opNames       = bits("n", "id", "op", "entity", "base", "form", "fver", "author", "hlc", "at", "body", "photos")
	bodyNames     = bits("visit", "zone", "check", "typed", "edition", "property", "name", "state")
)

func bits(names ...string) map[string]int {
	m := map[string]int{}
	for i, name := range names {
		m[name] = 1 << i
	}
	return m
}

func (q *quick) once(seen *int, name string, bit int) {
	if bit == 0 || *seen&bit != 0 {
		q.odd = true
	}
	*seen |= bit
}

// ops are the operations of a push. One of another shape is read by encoding/json, if it is whole.
func (q *quick) ops() []Op {
	list := make([]Op, 0, min(MaxOps, bytes.Count(q.raw, []byte(`"hlc"`))))
	q.list(func() {
		from := q.at
		w := q.op()
		if q.odd {
			q.odd, q.at = false, from
			q.skip()
			if q.odd || !json.Valid(q.raw[from:q.at]) {
				q.odd = true
				return
			}
			w = readWire(q.raw[from:q.at])
		}
		op, err := newOp(q.raw[from:q.at:q.at], w)
		q.odd = q.odd || err != nil || len(list) == MaxOps // how it is refused is said by the other way
		list = append(list, op)
	})
	return list
}

func (q *quick) op() *wire {
	w := &struct {
		wire
		n    int64
		id   string
		body wireBody
		zone string
	}{}
	seen := 0
	q.object(func(name string) {
		q.once(&seen, name, opNames[name])
		switch name {
		case "n":
			w.n = q.whole()
			w.N = &w.n
		case "id":
			w.id = q.string()
			w.ID = &w.id
		case "op":
			w.Op = q.string()
		case "entity":
			w.Entity = q.string()
		case "base":
			w.Base = q.whole()
		case "form":
			w.Form = q.string()
		case "fver":
			q.whole()
		case "author":
			w.Author = q.string()
		case "hlc":
			w.HLC = q.string()
		case "at":
			w.At = q.string()
		case "body":
			w.Body = &w.body
			q.body(&w.body, &w.zone)
		case "photos":
			w.Photos = []wirePhoto{}
			q.list(func() { q.odd = true })
		}
	})
	q.odd = q.odd || w.Body == nil
	return &w.wire
}

func (q *quick) body(b *wireBody, zone *string) {
	seen := 0
	q.object(func(name string) {
		q.once(&seen, name, bodyNames[name])
		switch name {
		case "visit":
			b.Visit = q.string()
		case "zone":
			*zone = q.string()
			b.Zone = zone
		case "check":
			b.Check = q.string()
		case "typed":
			b.Typed = q.string()
		case "edition":
			b.Edition = q.string()
		case "property":
			b.Property = q.string()
		case "name":
			b.Name = q.string()
		case "state":
			b.State = q.string()
		}
	})
}

// object reads members until one is odd; member reads what stands behind its name.
func (q *quick) object(member func(name string)) {
	q.inside('{', '}', func() {
		name := q.string()
		q.take(':')
		q.blank()
		if !q.odd {
			member(name)
		}
	})
}

func (q *quick) list(element func()) { q.inside('[', ']', element) }

// inside reads what stands between two brackets, with commas between.
func (q *quick) inside(open, shut byte, each func()) {
	q.take(open)
	q.blank()
	if q.here() == shut {
		q.at++
		return
	}
	for !q.odd {
		q.blank()
		each()
		q.blank()
		if q.here() == shut {
			q.at++
			return
		}
		q.take(',')
	}
}

// here is the byte at hand, 0 at the end.
func (q *quick) here() byte {
	if q.at < len(q.raw) {
		return q.raw[q.at]
	}
	return 0
}

func (q *quick) blank() {
	for q.at < len(q.raw) && (q.raw[q.at] == ' ' || q.raw[q.at] == '\n' || q.raw[q.at] == '\t' || q.raw[q.at] == '\r') {
		q.at++
	}
}

// take reads one sign, with or without blanks before it.
func (q *quick) take(sign byte) {
	q.blank()
	if q.here() != sign {
		q.odd = true
		return
	}
	q.at++
}

// string reads a text. What is escaped in it is read by encoding/json.
func (q *quick) string() string {
	if q.odd || q.here() != '"' {
		q.odd = true
		return ""
	}
	from, escaped := q.at+1, false
	for q.at++; q.at < len(q.raw); q.at++ {
		switch c := q.raw[q.at]; {
		case c == '"':
			q.at++
			if escaped {
				return q.escaped(q.raw[from-1 : q.at])
			}
			return q.text[from : q.at-1]
		case c == '\\':
			escaped = true
			q.at++
		case c < ' ':
			q.odd = true
			return ""
		}
	}
	q.odd = true
	return ""
}

func (q *quick) escaped(text []byte) (s string) {
	q.odd = q.odd || json.Unmarshal(text, &s) != nil
	return s
}

// whole reads a number of digits only, as far as it is one without doubt.
func (q *quick) whole() int64 {
	from := q.at
	for q.at < len(q.raw) && q.raw[q.at] >= '0' && q.raw[q.at] <= '9' {
		q.at++
	}
	digits := q.text[from:q.at]
	if len(digits) == 0 || len(digits) > 1 && digits[0] == '0' {
		q.odd = true
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	q.odd = q.odd || err != nil
	return n
}

// skip goes behind an object, whatever is in it.
func (q *quick) skip() {
	for deep := 0; q.at < len(q.raw); {
		switch q.raw[q.at] {
		case '"':
			if q.string(); q.odd {
				return
			}
			continue
		case '{', '[':
			deep++
		case '}', ']':
			if deep--; deep == 0 {
				q.at++
				return
			}
		}
		q.at++
		if deep == 0 {
			break
		}
	}
	q.odd = true
}
