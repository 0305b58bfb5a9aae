package page

import (
	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store/record"
)

// Field is what the phone's shells are made of: the catalogue and the words. It holds nothing about anybody.
type Field struct {
	Build string
	W     Words
	Parts []Part
	Early map[string][]string // modules that each entry imports at once, so that a browser asks for all of them together
	Items []record.Item       // of the record of what was put down, those a person answers
}

// Part is one part of the walk with the checks made there.
type Part struct {
	ID     string
	Label  string
	Checks []checks.Check
}

// NewField lays the catalogue out in the order of the walk. Retired checks are not asked for any more.
func NewField(b knowledge.Bundle, w Words, build string) Field {
	f := Field{Build: build, W: w}
	for _, s := range b.Sections {
		part := Part{ID: s.ID, Label: s.Label.In(w.Lang)}
		for _, c := range b.Checks {
			if c.Section == s.ID && !c.Retired {
				part.Checks = append(part.Checks, c)
			}
		}
		if len(part.Checks) > 0 {
			f.Parts = append(f.Parts, part)
		}
	}
	for _, it := range record.Shipped().Items {
		if it.Check != nil {
			f.Items = append(f.Items, it)
		}
	}
	return f
}

// In returns the text in the language of the shell.
func (f Field) In(t checks.Text) string { return t.In(f.W.Lang) }

// NumberName is what a screen reader says at a number: the check and its own unit.
func (f Field) NumberName(c checks.Check) string {
	if len(c.Units) == 0 {
		return f.In(c.Label)
	}
	return f.In(c.Label) + ", " + f.In(c.Units[0].Label)
}

// drawn reports whether the options of a choice have drawings, which need a grid instead of a column.
func drawn(c checks.Check) bool {
	for _, o := range c.Options {
		if o.Drawing != "" {
			return true
		}
	}
	return false
}
