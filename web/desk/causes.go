package desk

import (
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/tell"
	"swardbook/web/page"
)

// Causes lists every cause there is knowledge of, those that are met most at this time of the year first.
func (d *Desk) Causes(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "causes", a.words.T("causes.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Causes(f, d.causesPage(a)))
}

func (d *Desk) causesPage(a asking) page.CausesPage {
	k := d.know()
	now := k.Bundle.SeasonOf[d.now().In(a.place).Month()-1]
	v := page.CausesPage{Edition: k.Edition}
	for _, s := range k.Bundle.Seasons {
		v.Seasons = append(v.Seasons, page.SeasonHead{Say: seasonSays(a.words, s), Now: s == now})
	}
	causes := slices.Clone(k.Bundle.Causes)
	slices.SortStableFunc(causes, func(x, y knowledge.Cause) int {
		switch {
		case x.Rates[now] > y.Rates[now]:
			return -1
		case x.Rates[now] < y.Rates[now]:
			return 1
		}
		return 0
	})
	for _, c := range causes {
		sum := tell.CauseOf(k, c.ID)
		row := page.CausesRow{URL: causeURL(c.ID), Cause: c.Label.In(a.words.Lang), Season: c.Season.In(a.words.Lang), Links: sum.Links}
		for _, s := range k.Bundle.Seasons {
			row.Rates = append(row.Rates, chance(c.Rates[s]))
		}
		if sum.Weak() {
			row.Weak = a.words.T("causes.weak")
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

// whenSays is a context in words: "on a routine visit, in summer". What has no words stands as it is written.
func whenSays(w page.Words, k *knowledge.Loaded, when map[string]string) string {
	var parts []string
	for _, key := range slices.Sorted(maps.Keys(when)) {
		parts = append(parts, conditionSays(w, k, key, when[key]))
	}
	return strings.Join(parts, ", ")
}

func conditionSays(w page.Words, k *knowledge.Loaded, key, value string) string {
	if id, ok := strings.CutPrefix(key, "finding:"); ok {
		if f, ok := k.Finding(id); ok {
			return w.T("context.finding", "finding", f.Label.In(w.Lang), "state", stateSays(f, value, w.Lang))
		}
	}
	var says []string
	for one := range strings.SplitSeq(value, ",") {
		says = append(says, valueSays(w, key, strings.TrimSpace(one)))
	}
	return strings.Join(says, ", ")
}

func valueSays(w page.Words, key, value string) string {
	if text := "context." + key + "." + value; w.Has(text) {
		return w.T(text)
	}
	if n, err := strconv.Atoi(value); key == "month" && err == nil && n >= 1 && n <= 12 {
		return w.T("month." + time.Month(n).String())
	}
	return w.T("context.other", "key", key, "value", strings.ReplaceAll(value, "_", " "))
}

// changeSays is what a context does to a rate.
func changeSays(w page.Words, a knowledge.Adjust) string {
	switch {
	case a.Factor > 0:
		return w.T("context.factor", "n", strconv.FormatFloat(a.Factor, 'f', -1, 64))
	case a.AtMost > 0:
		return w.T("context.at_most", "chance", chance(a.AtMost))
	}
	return w.T("context.set", "chance", chance(a.Set))
}
