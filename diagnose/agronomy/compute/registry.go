// Package compute gathers the formulas of all subjects under their names, reads calculations from JSON, runs them and
// compares them with what is expected. It reads and writes values only; files are the caller's.
package compute

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/area"
	"swardbook/diagnose/agronomy/combined"
	"swardbook/diagnose/agronomy/degreedays"
	"swardbook/diagnose/agronomy/evapo"
	"swardbook/diagnose/agronomy/fertilizer"
	"swardbook/diagnose/agronomy/irrigation"
	"swardbook/diagnose/agronomy/mowing"
	"swardbook/diagnose/agronomy/records"
	"swardbook/diagnose/agronomy/sampling"
	"swardbook/diagnose/agronomy/season"
	"swardbook/diagnose/agronomy/seeding"
	"swardbook/diagnose/agronomy/soiltest"
	"swardbook/diagnose/agronomy/soilwater"
	"swardbook/diagnose/agronomy/sprayer"
	"swardbook/diagnose/agronomy/sun"
)

// subjects is the one list: a subject package is added here.
var subjects = []func() []agronomy.Formula{
	area.Formulas,
	combined.Formulas,
	degreedays.Formulas,
	evapo.Formulas,
	fertilizer.Formulas,
	irrigation.Formulas,
	sprayer.Formulas,
	seeding.Formulas,
	mowing.Formulas,
	records.Formulas,
	season.Formulas,
	sampling.Formulas,
	soiltest.Formulas,
	soilwater.Formulas,
	sun.Formulas,
}

// Formulas are all formulas, by name.
func Formulas() []agronomy.Formula {
	var all []agronomy.Formula
	for _, subject := range subjects {
		all = append(all, subject()...)
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Name < all[j].Name })
	return all
}

// Registry finds formulas by name.
type Registry struct {
	byName map[string]agronomy.Formula
	names  []string
}

// NewRegistry makes the registry of all subjects.
func NewRegistry() *Registry { return registryOf(Formulas()) }

func registryOf(all []agronomy.Formula) *Registry {
	r := &Registry{byName: map[string]agronomy.Formula{}}
	for _, f := range all {
		r.byName[f.Name] = f
		r.names = append(r.names, f.Name)
	}
	return r
}

// Names are all names, sorted.
func (r *Registry) Names() []string { return slices.Clone(r.names) }

// Formula finds a formula. Without a name it finds the only one that takes all the inputs given and can run with them.
func (r *Registry) Formula(name string, given []string) (agronomy.Formula, error) {
	if f, ok := r.byName[name]; ok {
		return f, nil
	}
	if name != "" {
		return agronomy.Formula{}, agronomy.RefuseSay("formula", name, "a known formula", fmt.Sprintf("There is no formula %.60q%s.", name, r.near(name)))
	}
	var fits []agronomy.Formula
	for _, n := range r.names {
		if f := r.byName[n]; !f.ByName && len(given) > 0 && takesAll(f, given) {
			fits = append(fits, f)
		}
	}
	if len(fits) != 1 {
		return agronomy.Formula{}, agronomy.RefuseSay("formula", "", "the name of a formula", "No formula is named, and the inputs alone don't tell which is meant.")
	}
	return fits[0], nil
}

// near names the formulas that share a word with a mistyped one.
func (r *Registry) near(name string) string {
	var like []string
	for _, word := range strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return c == '_' || c == ' ' || c == '-' }) {
		for _, n := range r.names {
			if len(word) > 2 && strings.Contains(n, word) && !slices.Contains(like, n) {
				like = append(like, n)
			}
		}
	}
	if len(like) == 0 || len(like) > 8 {
		return ""
	}
	return "; there is " + strings.Join(like, ", ")
}

func takesAll(f agronomy.Formula, given []string) bool {
	have := map[string]bool{}
	for _, name := range given {
		in, ok := inputOf(f, name)
		if !ok {
			return false
		}
		have[in.Name] = true
	}
	return slices.ContainsFunc(f.Ways, func(w agronomy.Way) bool {
		return !slices.ContainsFunc(w.Needs, func(n string) bool { return !have[n] })
	})
}

// inputOf finds an input by its name or one of its further names.
func inputOf(f agronomy.Formula, name string) (agronomy.Input, bool) {
	for _, in := range f.Inputs {
		if in.Name == name || slices.Contains(in.Also, name) {
			return in, true
		}
	}
	return agronomy.Input{}, false
}
