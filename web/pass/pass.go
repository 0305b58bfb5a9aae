// Package pass hashes passcodes and checks them: argon2id, written as PHC text, two at a time.
package pass

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"sync"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"

	"swardbook/store"
)

// What a new passcode is hashed with. A hash carries its own settings, so these may rise without a migration.
const (
	hashMemory  = 19 * 1024 // KiB
	hashTime    = 2
	hashThreads = 1
	saltBytes   = 16
	keyBytes    = 32
)

// The shortest and longest passcode taken, in characters and in bytes.
const (
	Shortest = 8
	longest  = 256
)

// hashing holds the memory that hashing may take at once: two tries of 19 MiB.
var hashing = make(chan struct{}, 2)

// Hash returns the argon2id hash of a passcode as PHC text. A passcode that is too short or too long is an
// Invalid error with a sentence for the person.
func Hash(passcode string) (string, error) {
	if n := utf8.RuneCountInString(passcode); n < Shortest {
		return "", store.Errorf(store.Invalid, "A passcode has at least %d characters; this one has %d.", Shortest, n)
	}
	if len(passcode) > longest {
		return "", store.Errorf(store.Invalid, "This passcode is too long.")
	}
	salt := make([]byte, saltBytes)
	rand.Read(salt) // never fails
	h := phc{hashMemory, hashTime, hashThreads, salt, nil}
	h.key = h.derive(passcode, keyBytes)
	return h.String(), nil
}

// Check reports whether passcode belongs to hash. It waits for its turn; a context that ends first is an error.
func Check(ctx context.Context, hash, passcode string) (bool, error) {
	h, err := parsePHC(hash)
	if err != nil {
		return false, err
	}
	select {
	case hashing <- struct{}{}:
	case <-ctx.Done():
		return false, ctx.Err()
	}
	defer func() { <-hashing }()
	if len(passcode) > longest {
		passcode = ""
	}
	return subtle.ConstantTimeCompare(h.derive(passcode, len(h.key)), h.key) == 1, nil
}

// Nobody is checked for names nobody has, so that an unknown name takes as long as a wrong passcode.
var Nobody = sync.OnceValue(func() string {
	salt := make([]byte, saltBytes)
	rand.Read(salt)
	key := make([]byte, keyBytes)
	rand.Read(key)
	return phc{hashMemory, hashTime, hashThreads, salt, key}.String()
})

// phc is an argon2id hash taken apart.
type phc struct {
	memory, time uint32
	threads      uint8
	salt, key    []byte
}

func (h phc) derive(passcode string, n int) []byte {
	return argon2.IDKey([]byte(passcode), h.salt, h.time, h.memory, h.threads, uint32(n))
}

// String writes $argon2id$v=19$m=…,t=…,p=…$salt$key.
func (h phc) String() string {
	enc := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.memory, h.time, h.threads, enc(h.salt), enc(h.key))
}

func parsePHC(text string) (phc, error) {
	var h phc
	var version int
	part := strings.Split(text, "$")
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" {
		return h, fmt.Errorf("pass: a stored hash is not argon2id")
	}
	if _, err := fmt.Sscanf(part[2], "v=%d", &version); err != nil || version != argon2.Version {
		return h, fmt.Errorf("pass: a stored hash has an unknown version")
	}
	if _, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &h.memory, &h.time, &h.threads); err != nil {
		return h, fmt.Errorf("pass: a stored hash has unreadable settings: %w", err)
	}
	if h.memory > 1<<20 || h.time < 1 || h.time > 100 || h.threads < 1 {
		return h, fmt.Errorf("pass: a stored hash has settings out of range")
	}
	var err error
	if h.salt, err = base64.RawStdEncoding.DecodeString(part[4]); err != nil {
		return h, fmt.Errorf("pass: a stored hash has an unreadable salt: %w", err)
	}
	if h.key, err = base64.RawStdEncoding.DecodeString(part[5]); err != nil || len(h.key) < 16 {
		return h, fmt.Errorf("pass: a stored hash has an unreadable key")
	}
	return h, nil
}
