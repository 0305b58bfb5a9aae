package pass

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"net/url"
	"strings"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
)

// Codes of the second factor are those of RFC 6238 as authenticators make them: SHA-1, six digits, a new one every half minute.
const (
	stepSeconds = 30
	around      = 1 // steps before and after now that count: clocks differ
	secretBytes = 20
)

var base = base32.StdEncoding.WithPadding(base32.NoPadding)

// NewSecret makes what an authenticator and the office share.
func NewSecret() []byte {
	secret := make([]byte, secretBytes)
	rand.Read(secret) // never fails
	return secret
}

// SecretText is a secret as people type it.
func SecretText(secret []byte) string { return base.EncodeToString(secret) }

// SecretURL is a secret as an authenticator reads it from a picture.
func SecretURL(secret []byte, firm, person string) string {
	q := url.Values{"secret": {SecretText(secret)}, "issuer": {firm}, "algorithm": {"SHA1"}, "digits": {"6"}, "period": {"30"}}
	u := url.URL{Scheme: "otpauth", Host: "totp", Path: "/" + firm + ":" + person, RawQuery: strings.ReplaceAll(q.Encode(), "+", "%20")}
	return u.String()
}

// Step finds the half minute whose code was typed, of those around now.
func Step(secret []byte, typed string, now time.Time) (step int64, ok bool) {
	typed = strings.Join(strings.Fields(typed), "")
	at := now.Unix() / stepSeconds
	for s := at - around; s <= at+around; s++ {
		code, err := hotp.GenerateCodeCustom(SecretText(secret), uint64(s), hotp.ValidateOpts{Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1})
		if err == nil && subtle.ConstantTimeCompare([]byte(code), []byte(typed)) == 1 {
			step, ok = s, true
		}
	}
	return step, ok
}

// recoveryCodes is how many a person gets.
const recoveryCodes = 10

// NewRecovery makes recovery codes, eighty bits each, with what is stored of them.
func NewRecovery() (codes []string, hashes [][]byte) {
	for range recoveryCodes {
		raw := make([]byte, 10)
		rand.Read(raw) // never fails
		text := strings.ToLower(base.EncodeToString(raw))
		code := text[:4] + "-" + text[4:8] + "-" + text[8:12] + "-" + text[12:]
		codes, hashes = append(codes, code), append(hashes, RecoveryHash(code))
	}
	return codes, hashes
}

// IsRecovery reports whether a text has the length of a recovery code.
func IsRecovery(typed string) bool { return len(recoveryText(typed)) == 16 }

// RecoveryHash is what is stored of a recovery code, however it is spaced and cased.
func RecoveryHash(typed string) []byte {
	sum := sha256.Sum256([]byte(recoveryText(typed)))
	return sum[:]
}

func recoveryText(typed string) string {
	return strings.ToUpper(strings.NewReplacer(" ", "", "-", "", "\t", "").Replace(typed))
}
