package sqlite

import (
	"bytes"
	"encoding/json"
	"maps"
)

// sameContent reports whether two rows say the same. The number does not count: a phone that got another name sends what it
// keeps again under other numbers.
func sameContent(a, b []byte) bool {
	if bytes.Equal(a, b) {
		return true
	}
	one, ok := unnumbered(a)
	other, fine := unnumbered(b)
	return ok && fine && maps.EqualFunc(one, other, func(x, y json.RawMessage) bool { return bytes.Equal(x, y) })
}

// unnumbered is a row without its number, member by member as it was sent.
func unnumbered(raw []byte) (members map[string]json.RawMessage, ok bool) {
	if json.Unmarshal(raw, &members) != nil {
		return nil, false
	}
	_, ok = members["n"]
	delete(members, "n")
	return members, ok
}
