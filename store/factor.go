package store

import "time"

// Factor is the second thing a person signs in with: a secret that their authenticator shares with the office.
type Factor struct {
	Secret []byte
	Since  time.Time // zero while it is being set up
	Step   int64     // the last half minute whose code was used
	Left   int       // recovery codes not used yet
}

// On reports whether signing in asks for it.
func (f Factor) On() bool { return !f.Since.IsZero() }
