package web

import (
	"crypto/sha256"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"swardbook/store"
)

// codeAt is what an authenticator shows at a moment.
func codeAt(t *testing.T, secret string, at time.Time) string {
	t.Helper()
	code, err := totp.GenerateCode(strings.ReplaceAll(secret, " ", ""), at)
	if err != nil {
		t.Fatal(err)
	}
	return code
}

// setUp puts a second factor in force for the owner, as a person does, and returns its secret and recovery codes.
func setUp(t *testing.T, h *house) (secret string, recovery []string) {
	t.Helper()
	b := h.as(store.Owner)
	want(t, b.post("/desk/me/second", url.Values{"passcode": {"not the passcode"}}), 422)
	shown := parsed(t, want(t, b.post("/desk/me/second", url.Values{"passcode": {passcode}}), 200))
	secret = textOf(first(shown, "code", "data-secret="))
	want(t, b.post("/desk/me/second/confirm", url.Values{"code": {"000000"}}), 422)
	want(t, h.as("").post("/sign-in", credentials("owner", passcode)), 303) // nothing is in force yet
	done := parsed(t, want(t, h.as(store.Owner).post("/desk/me/second/confirm", url.Values{"code": {codeAt(t, secret, h.now)}}), 200))
	list := first(done, "ul", "data-codes=")
	for item := list.FirstChild; item != nil; item = item.NextSibling {
		recovery = append(recovery, textOf(item))
	}
	if len(recovery) != 10 {
		t.Fatalf("recovery codes %q", recovery)
	}
	return secret, recovery
}

// halfway types name and passcode and returns the token of the page that asks for the code.
func halfway(t *testing.T, h *house, name string) string {
	t.Helper()
	answer := want(t, h.as("").post("/sign-in", credentials(name, passcode)), 200)
	if cookieOf(answer, "swardbook") != nil {
		t.Fatal("signed in without the second factor")
	}
	return value(first(parsed(t, answer), "input", "name=token"), "value")
}

func second(h *house, token, code string) *http.Response {
	return h.as("").post("/sign-in/second", url.Values{"token": {token}, "code": {code}})
}

func TestTheSecondFactorIsAskedFor(t *testing.T) {
	h := newHouse(t)
	secret, recovery := setUp(t, h)
	code := codeAt(t, secret, h.now)
	token := halfway(t, h, "owner")
	want(t, second(h, token, code), 422) // it was used for setting up
	h.now = h.now.Add(time.Minute)
	code = codeAt(t, secret, h.now)
	want(t, second(h, token, "123456"), 422)
	answer := want(t, second(h, token, code), 303)
	signed := &browser{h: h, cookie: cookieOf(answer, "swardbook")}
	want(t, signed.get("/desk/people"), 200)
	want(t, second(h, token, code), 422) // the page was used
	refused := parsed(t, want(t, second(h, halfway(t, h, "owner"), code), 422))
	if say := textOf(first(refused, "span", "class=wrong")); !strings.Contains(say, "used already") {
		t.Errorf("the same code twice: %q", say)
	}
	token = halfway(t, h, "owner")
	want(t, second(h, token, strings.ToUpper(recovery[3])), 303)
	want(t, second(h, halfway(t, h, "owner"), recovery[3]), 422)
	token = halfway(t, h, "owner")
	h.now = h.now.Add(secondLife)
	want(t, second(h, token, codeAt(t, secret, h.now)), 422)
	want(t, h.as("").post("/sign-in", credentials("manager", passcode)), 303)
}

func TestGuessingCodesIsSlowed(t *testing.T) {
	h := newHouse(t)
	secret, _ := setUp(t, h)
	h.now = h.now.Add(time.Minute)
	token := halfway(t, h, "owner")
	for range secondTries {
		want(t, second(h, token, "000000"), 422)
	}
	slowed := want(t, second(h, token, codeAt(t, secret, h.now)), 429)
	if slowed.Header.Get("Retry-After") == "" {
		t.Error("how long to wait is not said")
	}
	want(t, second(h, halfway(t, h, "owner"), codeAt(t, secret, h.now)), 429) // a new page begins no new count
}

// TestACodeForAPhoneAsksForTheSecondFactor: a phone's code stands for the passcode, not for both.
func TestACodeForAPhoneAsksForTheSecondFactor(t *testing.T) {
	h := newHouse(t)
	secret, _ := setUp(t, h)
	sum := sha256.Sum256([]byte("phone code"))
	if err := h.db.AddCode(t.Context(), sum[:], h.people[store.Owner].ID, time.Minute); err != nil {
		t.Fatal(err)
	}
	answer := want(t, h.as("").post("/sign-in/code", url.Values{"code": {"phone code"}}), 200)
	if cookieOf(answer, "swardbook") != nil {
		t.Fatal("the code alone signed in")
	}
	h.now = h.now.Add(time.Minute)
	want(t, second(h, value(first(parsed(t, answer), "input", "name=token"), "value"), codeAt(t, secret, h.now)), 303)
}

func TestTheSecondFactorIsTakenOff(t *testing.T) {
	h := newHouse(t)
	setUp(t, h)
	want(t, h.as(store.Owner).post("/desk/me/second", url.Values{"passcode": {passcode}}), 409)
	want(t, h.as(store.Owner).post("/desk/me/second/off", url.Values{"passcode": {"not the passcode"}}), 422)
	halfway(t, h, "owner")
	want(t, h.as(store.Manager).post("/desk/people/"+h.people[store.Owner].ID+"/second-off", url.Values{}), 403)
	want(t, h.as(store.Owner).post("/desk/people/"+h.people[store.Owner].ID+"/second-off", url.Values{}), 303)
	want(t, h.as("").post("/sign-in", credentials("owner", passcode)), 303)
}

func TestSigningOutEverywhere(t *testing.T) {
	h := newHouse(t)
	answer := want(t, h.as("").post("/sign-in", credentials("crew", passcode)), 303)
	other := &browser{h: h, cookie: cookieOf(answer, "swardbook")}
	want(t, other.get("/api/v1/me"), 200)
	want(t, h.as(store.Crew).post("/sign-out/everywhere", url.Values{}), 303)
	want(t, other.get("/api/v1/me"), 401)
}
