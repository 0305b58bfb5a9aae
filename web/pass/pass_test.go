package pass

import (
	"context"
	"strings"
	"testing"

	"swardbook/store"
)

func TestAHashKnowsItsPasscodeAndNoOther(t *testing.T) {
	hash, err := Hash("three short words")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(hash, "$argon2id$v=19$m=19456,t=2,p=1$") {
		t.Fatalf("settings of %s", hash)
	}
	for passcode, want := range map[string]bool{"three short words": true, "three short word": false, "": false, strings.Repeat("x", 10_000): false} {
		got, err := Check(t.Context(), hash, passcode)
		if err != nil || got != want {
			t.Errorf("%.20q: %v, %v", passcode, got, err)
		}
	}
	again, err := Hash("three short words")
	if err != nil || again == hash {
		t.Errorf("the same salt twice: %v", err)
	}
}

func TestPasscodesTooShortOrTooLongAreSaid(t *testing.T) {
	for _, passcode := range []string{"", "seven77", strings.Repeat("x", longest+1)} {
		if _, err := Hash(passcode); store.KindOf(err) != store.Invalid {
			t.Errorf("%.10q: %v", passcode, err)
		}
	}
	if _, err := Hash("ñandúes8"); err != nil {
		t.Errorf("eight characters in more bytes: %v", err)
	}
}

func TestNobodyIsNeverLetIn(t *testing.T) {
	if one, other := Nobody(), Nobody(); one != other {
		t.Error("nobody's hash changes, so its time might")
	}
	if ok, err := Check(t.Context(), Nobody(), "anything at all"); ok || err != nil {
		t.Errorf("%v, %v", ok, err)
	}
}

func TestABrokenHashIsAFault(t *testing.T) {
	for _, hash := range []string{
		"", "plain", "$argon2i$v=19$m=19456,t=2,p=1$c2FsdA$a2V5", "$argon2id$v=18$m=19456,t=2,p=1$c2FsdHNhbHQ$a2V5a2V5a2V5a2V5a2V5a2V5",
		"$argon2id$v=19$m=9999999,t=2,p=1$c2FsdHNhbHQ$a2V5a2V5a2V5a2V5a2V5a2V5", "$argon2id$v=19$m=19456,t=0,p=1$c2FsdHNhbHQ$a2V5a2V5a2V5a2V5a2V5a2V5",
		"$argon2id$v=19$m=19456,t=2,p=1$!!$a2V5a2V5a2V5a2V5a2V5a2V5", "$argon2id$v=19$m=19456,t=2,p=1$c2FsdHNhbHQ$a2V5",
	} {
		if ok, err := Check(t.Context(), hash, "three short words"); ok || err == nil {
			t.Errorf("%q: %v, %v", hash, ok, err)
		}
	}
}

func TestWaitingForATurnEndsWithItsRequest(t *testing.T) {
	hashing <- struct{}{}
	hashing <- struct{}{}
	defer func() { <-hashing; <-hashing }()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if ok, err := Check(ctx, Nobody(), "three short words"); ok || err == nil {
		t.Errorf("%v, %v", ok, err)
	}
}
