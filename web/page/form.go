package page

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"swardbook/store"
)

// Form is what was typed into a form and what is wrong with it, each under the input's name. The zero Form is a fresh one.
type Form struct {
	Values url.Values
	Wrong  map[string]string
}

// ReadForm reads what r posts.
func ReadForm(w Words, r *http.Request) (Form, error) {
	if err := r.ParseForm(); err != nil {
		return Form{}, &store.Error{Kind: store.Invalid, Say: w.T("error.form.say"), Err: err}
	}
	return Form{Values: r.PostForm}, nil
}

// V returns what was typed under name, without blanks at its ends.
func (f Form) V(name string) string { return strings.TrimSpace(f.Values.Get(name)) }

// Or is V with a first choice for a form that was not sent yet.
func (f Form) Or(name, first string) string {
	if f.Values == nil {
		return first
	}
	return f.V(name)
}

// Say notes what is wrong with the input called name. The first sentence stays.
func (f *Form) Say(name, sentence string) {
	if f.Wrong == nil {
		f.Wrong = map[string]string{}
	}
	if _, there := f.Wrong[name]; !there {
		f.Wrong[name] = sentence
	}
}

// Bad reports whether anything is wrong.
func (f Form) Bad() bool { return len(f.Wrong) > 0 }

// Choice is one entry of a list to choose from.
type Choice struct{ Value, Label string }

// Input is one labelled place to type or choose.
type Input struct {
	Name    string
	ID      string // of the control, where one page has several of a name; "" made from Name
	Label   string
	Hint    string
	Type    string // "" text; "password", "date", "decimal", "area" (several lines), "select", "radio", "tel", "email"
	Value   string
	Wrong   string
	Auto    string // autocomplete
	Choices []Choice
	Need    bool
}

// In makes the Input of f called name.
func (f Form) In(in Input) Input {
	if in.Type != "password" {
		in.Value = f.Or(in.Name, in.Value)
	}
	in.Wrong = f.Wrong[in.Name]
	return in
}

func (in Input) id() string {
	if in.ID != "" {
		return in.ID
	}
	return "in-" + strings.ReplaceAll(in.Name, ".", "-")
}

func (in Input) described() string {
	var ids []string
	if in.Wrong != "" {
		ids = append(ids, in.id()+"-wrong")
	}
	if in.Hint != "" {
		ids = append(ids, in.id()+"-hint")
	}
	return strings.Join(ids, " ")
}

func (in Input) kind() string {
	if in.Type == "" || in.Type == "decimal" {
		return "text"
	}
	return in.Type
}

// Passcode reads a passcode that was typed twice and returns its hash; what is wrong is said at its input.
func (f *Form) Passcode(w Words, hash func(string) (string, error)) string {
	typed := f.Values.Get("passcode")
	hashed, err := hash(typed)
	var said *store.Error
	switch {
	case errors.As(err, &said):
		f.Say("passcode", said.Say)
	case err != nil:
		f.Say("passcode", err.Error())
	case typed != f.Values.Get("again"):
		f.Say("again", w.T("person.again.differs"))
	}
	return hashed
}

// TimeZones are the time zones offered for a firm; the first is the default.
var TimeZones = []string{
	"America/New_York", "America/Chicago", "America/Denver", "America/Phoenix", "America/Los_Angeles", "America/Anchorage",
	"Pacific/Honolulu", "America/Halifax", "America/Toronto", "America/Winnipeg", "America/Edmonton", "America/Vancouver",
	"Europe/London", "Europe/Dublin", "Europe/Lisbon", "Europe/Madrid", "Europe/Paris", "Europe/Berlin", "Europe/Rome",
	"Europe/Warsaw", "Europe/Stockholm", "Australia/Perth", "Australia/Brisbane", "Australia/Sydney", "Pacific/Auckland", "UTC",
}

func choices(values []string) []Choice {
	out := make([]Choice, len(values))
	for i, v := range values {
		out[i] = Choice{v, strings.ReplaceAll(v, "_", " ")}
	}
	return out
}
