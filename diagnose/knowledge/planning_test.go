package knowledge

import (
	"regexp"
	"testing"
	"testing/fstest"
)

func TestEveryActionOfOursHasADeed(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	p := k.Bundle.Planning
	for i, a := range k.Bundle.Actions {
		d := p.Deeds[i]
		if d.Action != a.ID || len(d.Works) == 0 || d.Who == "" {
			t.Errorf("%s: %+v", a.ID, d)
		}
		licence := false
		for _, u := range p.Uses {
			for _, id := range d.Uses {
				licence = licence || u.ID == id && u.Licence
			}
		}
		if licence != a.Licence {
			t.Errorf("%s: licence %v, but its uses say %v", a.ID, a.Licence, licence)
		}
	}
}

func TestFaultsOfPlanningRows(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, want string }{
		{"an unknown work", "rules.csv", "late_nitrogen,practice,feed", "late_nitrogen,practice,hum", `rules.csv:\d+: unknown work "hum"`},
		{"an unknown kind", "rules.csv", "late_nitrogen,practice", "late_nitrogen,habit", `rules.csv:\d+: unknown kind of rule "habit"`},
		{"a condition that is none", "rules.csv", "day=10-16..03-31", "day=autumn", `rules.csv:\d+: when: "day=autumn": the days are written`},
		{"an unknown fact", "rules.csv", "fact:soil_ph<6.5", "fact:soil_ps<6.5", `rules.csv:\d+: unknown fact "soil_ps"`},
		{"an unknown state", "rules.csv", "fact:soil_k=very_low", "fact:soil_k=tiny", `rules.csv:\d+: unknown state "soil_k tiny"`},
		{"a sign of what has none", "rules.csv", "fact:bloom=yes", "fact:colour~white", `rules.csv:\d+: colour: ~ asks for a sign`},
		{"an unknown cause", "rules.csv", "cause:fairy_ring", "cause:fairies", `rules.csv:\d+: unknown cause "fairies"`},
		{"a rule that always forbids", "rules.csv", "", "no_more,practice,feed,,,0,No.,No.,EJ\n", `rules.csv:\d+: no_more: a rule speaks of`},
		{"a rule in one language", "rules.csv", "", "no_more,practice,feed,air>85,,0,No.,,EJ\n", `rules.csv:\d+: en, es: a text is wanted`},
		{"an unknown action", "windows.csv", "", "shade.sing,1,08-15,09-15,,,,,,,,EJ\n", `windows.csv:\d+: unknown action "shade.sing"`},
		{"a day that is none", "windows.csv", "shade.thin_canopy,1,11-01", "shade.thin_canopy,1,11-31x", `windows.csv:\d+: from: "11-31x" is no day`},
		{"degree days without a base", "windows.csv", ",50,03-01,280,620", ",,03-01,280,620", `windows.csv:\d+: .*not whole`},
		{"an unknown way of reckoning", "amounts.csv", "seed,seed,,", "seed,guess,,", `amounts.csv:\d+: unknown way of reckoning "guess"`},
		{"a rate without a unit", "amounts.csv", "nitrogen,0.75,lb N/1000 ft2", "nitrogen,0.75,", `amounts.csv:\d+: a rate has a unit`},
		{"a deed of unknown use", "deeds.csv", "seed,seed,crew", "seed,sead,crew", `deeds.csv:\d+: unknown use "sead"`},
		{"a pesticide without a deed", "deeds.csv", "white_grubs.curative,", "shade.measure_light,", `deeds.csv:\d+: no row for the action white_grubs.curative, which is a pesticide`},
		{"an interval of nothing", "apart.csv", "pre_emergent,core,90", "pre_emergent,core,0", `apart.csv:\d+: pre_then_core: days are wanted`},
		{"a fact that is a finding", "facts.csv", "soil_ph,pH", "thatch_in,pH", `facts.csv:\d+: thatch_in is a finding already`},
		{"seed out of order", "grasses.csv", "tall fescue,4,7", "tall fescue,9,7", `grasses.csv:\d+: tf: a low number is above`},
		{"a cap of an unknown grass", "caps.csv", "year,kbg,4", "year,oats,4", `caps.csv:\d+: unknown grass "oats"`},
		{"a row without a source", "waits.csv", "glufosinate,7,42,,LABELS", "glufosinate,7,42,,", `waits.csv:\d+: no source`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := LoadFS(altered(t, c.file, c.old, c.new))
			if err == nil {
				t.Fatal("the fault was not seen")
			}
			if !regexp.MustCompile(c.want).MatchString(err.Error()) {
				t.Errorf("got %q, want %q", err, c.want)
			}
		})
	}
}

func TestConditions(t *testing.T) {
	for text, want := range map[string]int{
		"": 0, "air>85": 1, "place=New Jersey|New York; has:P2O5": 1, "fact:soil_p=low or with:seed": 2, "fact:ring_sign~dead_band": 1, "day!=10-16..03-31": 1,
	} {
		groups, err := ParseWhen(text)
		if err != nil || len(groups) != want {
			t.Errorf("%q: %v %v", text, groups, err)
		}
	}
	for _, text := range []string{"air", "air=85", "air>hot", "mood=gloomy", "fact>3", "cause:x>1", "day=1-1..2-2", "with:", "has=P", ";", "air>85;soil<5", "place:x=y"} {
		if groups, err := ParseWhen(text); err == nil {
			t.Errorf("%q was read as %v", text, groups)
		}
	}
}

func FuzzParseWhen(f *testing.F) {
	for _, s := range []string{"air>85", "fact:soil_p=low or with:seed", "place=New Jersey|New York; has:P2O5", "a or b", "\xff=;"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		groups, err := ParseWhen(s)
		if err == nil && s != "" && len(groups) == 0 {
			t.Error("a condition of nothing")
		}
	})
}

// A firm changes a rule, a rate or a window as it changes any other row.
func TestAFirmsOwnPlanningRows(t *testing.T) {
	over := fstest.MapFS{
		"rules.csv": {Data: []byte("rule,kind,works,when,unless,fresh,en,es,source\nsummer_nitrogen,practice,feed,day=05-15..09-01,,0,Not here.,Aquí no.,EJ\nno_boat,practice,mow,slope>10,,0,Not on the bank.,No en la orilla.,EJ\n")},
		"caps.csv":  {Data: []byte("rule,kind,state,of,per,grass,max,unit,en,es,source\nn_once_de,law,Delaware,N,application,,0.8,lb N/1000 ft2,At most {max}.,A lo más {max}.,EJ\n")},
	}
	base, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	k, err := LoadFS(Overlay(Files(), over, "firm"))
	if err != nil {
		t.Fatal(err)
	}
	was, is := base.Bundle.Planning, k.Bundle.Planning
	if len(is.Rules) != len(was.Rules)+1 || len(is.Caps) != len(was.Caps)+1 {
		t.Errorf("%d rules and %d caps after %d and %d", len(is.Rules), len(is.Caps), len(was.Rules), len(was.Caps))
	}
	for i, r := range is.Rules {
		if r.ID == "summer_nitrogen" && (was.Rules[i].ID != r.ID || r.Say.EN != "Not here.") {
			t.Errorf("%+v", r)
		}
	}
}
