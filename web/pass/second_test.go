package pass

import (
	"net/url"
	"testing"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
)

// TestPublishedCodes are the test vectors of RFC 6238, Appendix B (SHA-1); theirs have eight digits, ours are the last six.
func TestPublishedCodes(t *testing.T) {
	secret := []byte("12345678901234567890")
	for at, want := range map[int64]string{59: "94287082", 1111111109: "07081804", 1111111111: "14050471", 1234567890: "89005924", 2000000000: "69279037", 20000000000: "65353130"} {
		long, err := hotp.GenerateCodeCustom(SecretText(secret), uint64(at/stepSeconds), hotp.ValidateOpts{Digits: otp.DigitsEight, Algorithm: otp.AlgorithmSHA1})
		if err != nil || long != want {
			t.Errorf("%d: %s %v, want %s", at, long, err, want)
		}
		now := time.Unix(at, 0)
		if step, ok := Step(secret, want[2:], now); !ok || step != at/stepSeconds {
			t.Errorf("%d: step %d %v", at, step, ok)
		}
		if _, ok := Step(secret, want[2:5]+" "+want[5:], now.Add(stepSeconds*time.Second)); !ok {
			t.Errorf("%d: refused half a minute later, in two groups", at)
		}
		if _, ok := Step(secret, want[2:], now.Add(2*stepSeconds*time.Second)); ok {
			t.Errorf("%d: taken a minute later", at)
		}
	}
	for _, typed := range []string{"", "000000", "94287082", "²87082"} {
		if _, ok := Step(secret, typed, time.Unix(59, 0)); ok {
			t.Errorf("%q was taken", typed)
		}
	}
}

func TestSecretURLIsReadByAuthenticators(t *testing.T) {
	secret := NewSecret()
	text := SecretURL(secret, "Quillmere & Lawns", "Iris Ö")
	key, err := otp.NewKeyFromURL(text)
	if err != nil || key.Secret() != SecretText(secret) || key.Issuer() != "Quillmere & Lawns" || key.AccountName() != "Iris Ö" || key.Period() != 30 {
		t.Error(text, key, err)
	}
	if u, err := url.Parse(text); err != nil || u.Scheme != "otpauth" || u.Host != "totp" {
		t.Error(u, err)
	}
}

func TestRecoveryCodesAreReadAsPeopleTypeThem(t *testing.T) {
	codes, hashes := NewRecovery()
	if len(codes) != recoveryCodes || codes[0] == codes[1] {
		t.Fatal(codes)
	}
	for i, code := range codes {
		typed := " " + code[:4] + code[5:9] + " " + code[10:]
		if !IsRecovery(typed) || string(RecoveryHash(typed)) != string(hashes[i]) {
			t.Errorf("%q is not read as %q", typed, code)
		}
	}
	if IsRecovery("123456") {
		t.Error("a code of six digits is taken for a recovery code")
	}
}
