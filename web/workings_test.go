package web

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"swardbook/store"
)

var digits = regexp.MustCompile(`\d+(?:\.\d+)?`)

// numbersIn are the numbers of a text in order; separators of thousands are left out first.
func numbersIn(text string) (out []float64) {
	for _, x := range digits.FindAllString(strings.ReplaceAll(text, ",", ""), -1) {
		f, _ := strconv.ParseFloat(x, 64)
		out = append(out, f)
	}
	return out
}

// opened is a number of a page with the lines it opens.
type opened struct {
	say   string
	lines []string
}

// workings are the numbers of a page that open their working; one that opens nothing is a fault.
func workings(t *testing.T, doc *html.Node) (out []opened) {
	t.Helper()
	all := every(doc, "details", "class=number")
	inside := map[*html.Node]bool{}
	for _, d := range all {
		inside[first(d, "b", "class=num")] = true
	}
	for _, n := range every(doc, "b", "class=num") {
		if !inside[n] {
			t.Errorf("%q opens no working", textOf(n.Parent))
		}
	}
	for _, d := range all {
		o := opened{say: textOf(first(d, "summary"))}
		for _, li := range every(d, "li") {
			o.lines = append(o.lines, textOf(li))
		}
		if len(o.lines) < 2 || !strings.Contains(strings.Join(o.lines, "\n"), "Source: ") {
			t.Errorf("%q opens %q", o.say, o.lines)
		}
		out = append(out, o)
	}
	return out
}

// line is the first that begins so.
func (o opened) line(begins string) string {
	for _, l := range o.lines {
		if strings.HasPrefix(l, begins) {
			return l
		}
	}
	return ""
}

func near(x, want, by float64) bool { return math.Abs(x-want) <= by*math.Abs(want)+1e-9 }

// gives works a working out by its own lines and fails where it does not come to the number that is shown.
func (o opened) gives(t *testing.T) (kind string) {
	t.Helper()
	fail := func(got any) { t.Helper(); t.Errorf("%q: its working comes to %v: %q", o.say, got, o.lines) }
	now := o.line("odds now")
	switch {
	case now != "" && o.line("before anything") != "":
		n := numbersIn(o.line("before anything"))
		odds := n[len(n)-1]
		for _, l := range o.lines {
			if strings.HasPrefix(l, "× ") {
				odds *= numbersIn(l)[0]
			}
		}
		said := numbersIn(now) // odds now, odds ÷ (1 + odds) = percent
		if !near(odds, said[0], 0.005) || !near(100*said[0]/(1+said[0]), said[4], 0.01) {
			fail(odds)
		}
		o.stepped(t, said[4])
		return "likelihood"
	case strings.HasPrefix(o.lines[0], "mean = sum"):
		typed := numbersIn(o.line("as typed"))
		sum := 0.0
		for _, x := range typed {
			sum += x
		}
		mean := sum / float64(len(typed))
		if len(typed) > 1 {
			all := numbersIn(o.say)
			if shown := all[len(all)-1]; math.Abs(shown-mean) > 0.051 {
				fail(mean)
			}
		}
		if result := numbersIn(o.line("Result:")); !near(result[0], mean, 1e-6) || len(result) == 3 && (result[1] > mean || result[2] < mean) {
			fail(result)
		}
		if s := o.line("spread"); s != "" {
			squares := 0.0
			for _, x := range typed {
				squares += (x - mean) * (x - mean)
			}
			if !near(numbersIn(s)[0], math.Sqrt(squares/float64(len(typed)-1)), 1e-6) {
				fail(s)
			}
		}
		return "reading"
	case strings.Contains(strings.Join(o.lines, "\n"), "amount = rate × area"):
		at := strings.Join(o.lines[:len(o.lines)-1], "\n")
		at = at[strings.Index(at, "amount = rate × area"):]
		lines := strings.Split(at, "\n")
		ground, rate := numbersIn(lines[1])[0], numbersIn(lines[2])[0]
		if shown := numbersIn(o.say)[0]; math.Abs(shown-ground/1000*rate) > 0.0051 {
			fail(ground / 1000 * rate)
		}
		return "amount"
	case strings.HasPrefix(o.lines[0], "worth of a minute"):
		n := numbersIn(o.lines[1])
		if !near(n[0]/(n[1]+n[2]), n[3], 0.001) || numbersIn(o.say)[0] != n[1] {
			fail(n[0] / (n[1] + n[2]))
		}
		return "check"
	case strings.HasPrefix(o.lines[0], "volume = area × depth"):
		gallons := numbersIn(o.line("area:"))[0] / 1000 * numbersIn(o.line("depth:"))[0] * 623.377
		if !near(numbersIn(o.say)[0], gallons, 1e-4) {
			fail(gallons)
		}
		return "volume"
	case strings.HasPrefix(o.lines[0], "mean = Σ"):
		var sum, ground float64
		for _, l := range o.lines[1 : len(o.lines)-2] {
			n := numbersIn(l[strings.LastIndex(l, ": ")+2:])
			sum, ground = sum+n[0]*n[1], ground+n[0]
		}
		mean := numbersIn(o.line("mean " + strconv.FormatFloat(numbersIn(o.lines[len(o.lines)-2])[0], 'f', -1, 64)))[0]
		if !near(sum/ground, mean, 0.01) {
			fail(sum / ground)
		}
		o.stepped(t, mean)
		return "property"
	}
	for _, n := range numbersIn(o.say) { // as it was given: an area, a rate of the label
		if !strings.Contains(strings.ReplaceAll(strings.Join(o.lines, "\n"), ",", ""), strconv.FormatFloat(n, 'f', -1, 64)) {
			fail("nothing")
		}
	}
	return "given"
}

// stepped fails unless a percentage reads, in steps of five, as the number that is shown.
func (o opened) stepped(t *testing.T, percent float64) {
	t.Helper()
	shown := numbersIn(o.say)[0]
	ok := math.Abs(shown-percent) <= 2.6
	switch {
	case strings.HasPrefix(o.say, "under"):
		ok = percent < 5.01
	case strings.HasPrefix(o.say, "over"):
		ok = percent > 94.99
	}
	if !ok {
		t.Errorf("%v %% is shown as %q", percent, o.say)
	}
}

// TestEveryNumberOfAVisitOpensItsWorking: likelihoods, means, amounts and the worth of checks come out of their own lines, in either unit
// and on every zone.
func TestEveryNumberOfAVisitOpensItsWorking(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	p := h.phone(store.Crew, "phone-3")
	for i, r := range [][2]string{{"ground_cover_pct", "55; 70; 62"}, {"core_depth_in", "2; 6; 3; 4"}, {"mow_height_in", "2"}, {"thatch_in", "1.5; 2"}, {"pattern", "stripes"}, {"sun_hours", "6"}} {
		p.reading(l.visit, l.zones[1], r[0], r[1], "2026-08-27T10:3"+string(rune('0'+i))+":00-04:00")
	}
	h.material(store.Material{ID: "tri", Kind: "insecticide", Name: "Trichlorfon 6.2 %", Unit: "lb", RegNo: "9-9", Uses: []string{"grub_curative"}, Rate: 3, UnitCost: 2,
		Licence: true, Tools: []string{"spreader"}, Actives: []store.Active{{Name: "trichlorfon", Percent: 6.2, OnceLbA: 8.2}}})
	p.handIn(l.visit, "2026-08-27T11:30:00-04:00")
	b := h.as(store.Manager)
	kinds := map[string]int{}
	for _, z := range l.zones {
		doc := b.page("/desk/visits/" + l.visit.ID + "?zone=" + z.ID)
		for _, o := range workings(t, doc) {
			kinds[o.gives(t)]++
		}
		opens(t, "the visit", doc, 5)
	}
	for kind, least := range map[string]int{"likelihood": 4, "reading": 5, "amount": 1, "check": 2, "volume": 1, "given": 2} {
		if kinds[kind] < least {
			t.Errorf("%d numbers of the kind %q, want at least %d: %v", kinds[kind], kind, least, kinds)
		}
	}
	doc := b.page("/desk/visits/" + l.visit.ID + "/plan")
	amount := textOf(first(stepWith(t, doc, "Trichlorfon"), "table"))
	if !strings.Contains(amount, "6.45 lb") || !strings.Contains(textOf(first(b.page("/desk/visits/"+l.visit.ID+"?zone="+l.zones[0].ID), "ol", "class=steps")), "6.45 lb") {
		t.Errorf("the visit says another amount than the plan: %s", amount)
	}
}

// TestAWorkingOfAnOlderAnswer: an answer whose case has changed since shows what it keeps, not the way of another one.
func TestAWorkingOfAnOlderAnswer(t *testing.T) {
	h := newHouse(t)
	l := h.grubs()
	b := h.as(store.Manager)
	at := "/desk/visits/" + l.visit.ID + "?zone=" + l.zones[0].ID
	if text := textOf(b.page(at)); !strings.Contains(text, "before anything was found") || strings.Contains(text, "Since this was weighed") {
		t.Fatalf("the answer of today: %s", text)
	}
	property := l.property
	property.Region = "transition"
	property.System = "none"
	if err := h.db.SaveProperty(t.Context(), property); err != nil {
		t.Fatal(err)
	}
	text := textOf(b.page(at))
	if !strings.Contains(text, "Since this was weighed") || strings.Contains(text, "before anything was found") {
		t.Errorf("the answer of yesterday: %s", text)
	}
	for _, o := range workings(t, b.page(at)) {
		if now := o.line("odds now"); now != "" {
			n := numbersIn(now)
			o.stepped(t, n[4])
		}
	}
}
