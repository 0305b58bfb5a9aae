package desk

import (
	"math"
	"net/http"
	"slices"
	"strconv"

	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/tell"
	"swardbook/store"
	"swardbook/web/page"
)

// Cause is what is known of one cause, every number with where it comes from.
func (d *Desk) Cause(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	c, ok := d.know().Cause(r.PathValue("cause"))
	if !ok {
		return store.Errorf(store.NotFound, "%s", a.words.T("cause.unknown"))
	}
	f, err := d.frame(r, a, "causes", c.Label.In(a.words.Lang))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Cause(f, d.causePage(a.words, c)))
}

func (d *Desk) causePage(w page.Words, c knowledge.Cause) page.CausePage {
	k := d.know()
	v := page.CausePage{
		What: c.What.In(w.Lang), Confirm: c.Confirm.In(w.Lang), Season: c.Season.In(w.Lang), Expect: c.Expect.In(w.Lang),
		Refer: c.Refer.In(w.Lang), Source: d.cited(c.Source, w), Rates: seasonRates(w, k, c), Edition: k.Edition,
	}
	if from := k.RateSource[c.ID]; from != "" {
		v.RateSource = d.cited(from, w)
	}
	for _, x := range k.Bundle.Drives {
		switch c.ID {
		case x.Child:
			v.DrivenBy = append(v.DrivenBy, d.driveRow(w, x, x.Parent))
		case x.Parent:
			v.Drives = append(v.Drives, d.driveRow(w, x, x.Child))
		}
	}
	for _, x := range k.Bundle.Adjust {
		if x.Cause == c.ID || x.Cause == "*" && !slices.Contains(x.Except, c.ID) {
			v.Contexts = append(v.Contexts, page.ContextRow{When: whenSays(w, k, x.When), Does: changeSays(w, x), Source: d.cited(x.Source, w)})
		}
	}
	v.Links = d.linkRows(w, k, c.ID)
	if sum := tell.CauseOf(k, c.ID); sum.Links > 0 {
		v.Rests = w.T("cause.rests", "n", math.Round(sum.Published*float64(sum.Links)), "all", sum.Links)
	}
	v.Actions = d.actionRows(w, k, c.ID)
	return v
}

// seasonRates are a cause's base rates in the bundle's order of seasons.
func seasonRates(w page.Words, k *knowledge.Loaded, c knowledge.Cause) (out []page.RateRow) {
	for _, season := range append(slices.Clone(k.Bundle.Seasons), "all") {
		if rate, ok := c.Rates[season]; ok {
			out = append(out, page.RateRow{Season: seasonSays(w, season), Chance: chance(rate)})
		}
	}
	return out
}

func seasonSays(w page.Words, season string) string {
	if key := "season." + season; w.Has(key) {
		return w.T(key)
	}
	return season
}

func (d *Desk) driveRow(w page.Words, x knowledge.Drive, other string) page.DriveRow {
	return page.DriveRow{
		URL: causeURL(other), Cause: causeLabel(d.know(), other, w.Lang), Chance: chance(x.P), Source: d.cited(x.Source, w),
	}
}

func causeURL(id string) string { return "/desk/causes/" + id }

// linkRows are the rows of every finding that speak of the cause, in catalogue order.
func (d *Desk) linkRows(w page.Words, k *knowledge.Loaded, cause string) []page.LinkRow {
	var out []page.LinkRow
	for i := range k.Bundle.Findings {
		f := &k.Bundle.Findings[i]
		label := f.Label.In(w.Lang)
		for _, row := range f.Rows {
			if row.Cause != cause {
				continue
			}
			other, share := otherwise(f, row.State)
			out = append(out, page.LinkRow{
				Finding: label, State: stateSays(*f, row.State, w.Lang), Word: chanceWord(row.Word, w), Chance: chance(row.P),
				Otherwise: other, Speaks: speaks(w, row.P, share), Source: d.cited(row.Source, w),
			})
			label = "" // said once
		}
	}
	return out
}

// otherwise is how often a state is met where nothing is wrong, as a range where seasons differ, and the middle of it.
func otherwise(f *knowledge.Finding, state string) (says string, share float64) {
	at := slices.IndexFunc(f.States, func(s knowledge.State) bool { return s.ID == state })
	low, high := math.Inf(1), math.Inf(-1)
	for _, shares := range f.Base {
		low, high = min(low, shares[at]), max(high, shares[at])
	}
	if chance(low) == chance(high) {
		return chance(low), low
	}
	return chance(low) + " – " + chance(high), (low + high) / 2
}

// clearly is how many times commoner or rarer a state must be with the cause to be called a sign for or against it.
const clearly = 1.5

func speaks(w page.Words, p, share float64) page.Reason {
	switch {
	case p >= clearly*share:
		return page.Reason{Kind: "done", Say: w.T("cause.for")}
	case share >= clearly*p:
		return page.Reason{Kind: "stop", Say: w.T("cause.against")}
	}
	return page.Reason{}
}

func (d *Desk) actionRows(w page.Words, k *knowledge.Loaded, cause string) []page.ActionRow {
	var out []page.ActionRow
	for _, x := range k.Bundle.Actions {
		if x.Cause != cause {
			continue
		}
		row := page.ActionRow{Do: x.Do.In(w.Lang), Window: x.Window.In(w.Lang), Avoid: x.Avoid.In(w.Lang), Source: d.cited(x.Source, w), Order: x.Order}
		if x.Licence {
			row.Tags = append(row.Tags, page.Reason{Kind: "stop", Say: w.T("cause.licence")})
		}
		if x.Dig {
			row.Tags = append(row.Tags, page.Reason{Kind: "ask", Say: w.T("cause.dig")})
		}
		out = append(out, row)
	}
	slices.SortStableFunc(out, func(a, b page.ActionRow) int { return a.Order - b.Order })
	return once(out)
}

// once says a warning that every step of a cause shares at the first only.
func once(rows []page.ActionRow) []page.ActionRow {
	said := map[string]bool{}
	for i := range rows {
		if said[rows[i].Avoid] {
			rows[i].Avoid = ""
		}
		said[rows[i].Avoid] = true
	}
	return rows
}

func stateSays(f knowledge.Finding, state, lang string) string {
	for _, s := range f.States {
		if s.ID == state {
			return s.Say.In(lang)
		}
	}
	return state
}

// chanceWord is the word of a row as a person reads it; a row that has only a number has none.
func chanceWord(word string, w page.Words) string {
	if key := "word." + word; w.Has(key) {
		return w.T(key)
	}
	return word
}

// chance writes a probability of the knowledge as it stands there, in percent.
func chance(p float64) string {
	return strconv.FormatFloat(math.Round(p*1000)/10, 'f', -1, 64) + "\u00a0%"
}
