package desk

import (
	"math"
	"net/http"
	"strconv"

	"swardbook/diagnose/knowledge"
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
	f, err := d.frame(r, a, "", c.Label.In(a.words.Lang))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Cause(f, d.causePage(a.words, c)))
}

func (d *Desk) causePage(w page.Words, c knowledge.Cause) page.CausePage {
	v := page.CausePage{
		What: c.What.In(w.Lang), Confirm: c.Confirm.In(w.Lang), Season: c.Season.In(w.Lang), Expect: c.Expect.In(w.Lang),
		Refer: c.Refer.In(w.Lang), Source: d.cited(c.Source, w), Edition: d.know().Edition,
	}
	for _, season := range append(d.know().Bundle.Seasons, "all") {
		if rate, ok := c.Rates[season]; ok {
			v.Rates = append(v.Rates, page.RateRow{Season: w.T("season." + season), Chance: chance(rate)})
		}
	}
	for _, x := range d.know().Bundle.Drives {
		switch c.ID {
		case x.Child:
			v.DrivenBy = append(v.DrivenBy, d.driveRow(w, x, x.Parent))
		case x.Parent:
			v.Drives = append(v.Drives, d.driveRow(w, x, x.Child))
		}
	}
	v.Links = d.linkRows(w, c.ID)
	return v
}

func (d *Desk) driveRow(w page.Words, x knowledge.Drive, other string) page.DriveRow {
	return page.DriveRow{
		URL: "/desk/causes/" + other, Cause: causeLabel(d.know(), other, w.Lang), Chance: chance(x.P), Source: d.cited(x.Source, w),
	}
}

// linkRows are the rows of every finding that speak of the cause, in catalogue order.
func (d *Desk) linkRows(w page.Words, cause string) []page.LinkRow {
	var out []page.LinkRow
	for _, f := range d.know().Bundle.Findings {
		for _, row := range f.Rows {
			if row.Cause != cause {
				continue
			}
			out = append(out, page.LinkRow{
				Finding: f.Label.In(w.Lang), State: stateSays(f, row.State, w.Lang), Word: chanceWord(row.Word, w), Chance: chance(row.P), Source: d.cited(row.Source, w),
			})
		}
	}
	return out
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
