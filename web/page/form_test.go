package page

import (
	"net/url"
	"strings"
	"testing"

	"swardbook/store"
)

func htmlOf(t *testing.T, in Input) string {
	t.Helper()
	var out strings.Builder
	if err := Ask(in).Render(t.Context(), &out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestAnInputSaysItsProblemWhereItWasTyped(t *testing.T) {
	form := Form{Values: url.Values{"name": {" <b>Ana</b> "}}}
	form.Say("name", "Too odd.")
	form.Say("name", "A second sentence never hides the first.")
	html := htmlOf(t, form.In(Input{Name: "name", Label: "Name", Hint: "As you say it."}))
	for _, want := range []string{`aria-invalid="true"`, `aria-describedby="in-name-wrong in-name-hint"`, `id="in-name-wrong">Too odd.<`, `value="&lt;b&gt;Ana&lt;/b&gt;"`} {
		if !strings.Contains(html, want) {
			t.Errorf("no %s in %s", want, html)
		}
	}
	if strings.Contains(html, "second sentence") {
		t.Error("two sentences at one input")
	}
}

func TestAPasscodeIsNeverSentBack(t *testing.T) {
	form := Form{Values: url.Values{"passcode": {"secret-word"}}}
	if html := htmlOf(t, form.In(Input{Name: "passcode", Label: "Passcode", Type: "password"})); strings.Contains(html, "secret-word") {
		t.Errorf("the passcode is in %s", html)
	}
}

func TestAFreshFormOffersTheFirstChoice(t *testing.T) {
	in := Input{Name: "units", Label: "Units", Type: "radio", Value: "us", Choices: []Choice{{"us", "US"}, {"metric", "Metric"}}}
	if html := htmlOf(t, Form{}.In(in)); !strings.Contains(html, `value="us" checked`) {
		t.Errorf("nothing is chosen in %s", html)
	}
	sent := Form{Values: url.Values{"units": {"metric"}}}
	if html := htmlOf(t, sent.In(in)); !strings.Contains(html, `value="metric" checked`) || strings.Contains(html, `value="us" checked`) {
		t.Errorf("what was chosen is lost in %s", html)
	}
}

func TestAPasscodeTypedTwice(t *testing.T) {
	words, err := LoadWords("en")
	if err != nil {
		t.Fatal(err)
	}
	hash := func(p string) (string, error) {
		if len(p) < 8 {
			return "", store.Errorf(store.Invalid, "Too short.")
		}
		return "hash of " + p, nil
	}
	for _, c := range []struct{ name, one, two, wrong string }{
		{"alike", "long enough", "long enough", ""},
		{"short", "short", "short", "passcode"},
		{"different", "long enough", "long enouhg", "again"},
	} {
		form := Form{Values: url.Values{"passcode": {c.one}, "again": {c.two}}}
		got := form.Passcode(words, hash)
		if c.wrong == "" && (form.Bad() || got != "hash of "+c.one) {
			t.Errorf("%s: %q, %v", c.name, got, form.Wrong)
		}
		if c.wrong != "" && form.Wrong[c.wrong] == "" {
			t.Errorf("%s: nothing is said at %s: %v", c.name, c.wrong, form.Wrong)
		}
	}
}
