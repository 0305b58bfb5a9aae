package store

import (
	"errors"
	"fmt"
)

// Kind sorts errors by what the caller can do about them; web/handler.go maps each to a status.
type Kind int

// The kinds of errors.
const (
	Internal  Kind = iota // a fault of ours
	NotFound              // no such thing, or none this person may see
	Invalid               // the input can't be taken
	Conflict              // the thing changed meanwhile, or exists already
	Forbidden             // this role or person may not
	SignIn                // no session
	TooLarge              // body over its limit
	Busy                  // try again
	Outdated              // protocol too old
)

// Error is an error with a kind, a sentence for the person and a private cause.
type Error struct {
	Kind Kind
	Say  string // shown to the person
	Err  error  // logged only
}

// Error returns the sentence and the private cause, for logs.
func (e *Error) Error() string {
	if e.Err != nil {
		return fmt.Sprintf("%s: %v", e.Say, e.Err)
	}
	return e.Say
}

// Unwrap returns the private cause.
func (e *Error) Unwrap() error { return e.Err }

// Errorf makes an error of a kind with a sentence for the person.
func Errorf(kind Kind, format string, args ...any) *Error {
	return &Error{Kind: kind, Say: fmt.Sprintf(format, args...)}
}

// KindOf returns the kind of err, Internal when it has none.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return Internal
}
