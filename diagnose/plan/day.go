package plan

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/checks"
)

// Days are counted from 1970, so that they can be compared and added. never is no day.
const never = -1 << 40

func dayOf(text string) (int, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return never, fmt.Errorf("%q is no day, as 2026-08-27", text)
	}
	return int(t.Unix() / 86400), nil
}

func dated(day int) time.Time { return time.Unix(int64(day)*86400, 0).UTC() }

func dayText(day int) string {
	if day == never {
		return ""
	}
	return dated(day).Format(time.DateOnly)
}

func yearOf(day int) int { return dated(day).Year() }

// monthDay is a day as 01-02.
func monthDay(day int) string { return dated(day).Format("01-02") }

// inYear is the day 01-02 of a year; never when the text is none. 02-29 of a common year is its 1 March.
func inYear(year int, monthDay string) int {
	if len(monthDay) != 5 {
		return never
	}
	month, err := strconv.Atoi(monthDay[:2])
	day, err2 := strconv.Atoi(monthDay[3:])
	if err != nil || err2 != nil {
		return never
	}
	return int(time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// within says whether 01-02 lies in a span of the year that may run over new year.
func within(at, from, to string) bool {
	if from <= to {
		return from <= at && at <= to
	}
	return at >= from || at <= to
}

// say fills a sentence of the knowledge: {words} by name, in both languages.
func (pl *Planner) say(note string, words ...any) checks.Text { return fill(pl.notes[note], words...) }

func fill(t checks.Text, words ...any) checks.Text {
	var en, es []string
	for i := 0; i+1 < len(words); i += 2 {
		key := "{" + words[i].(string) + "}"
		if both, ok := words[i+1].(checks.Text); ok {
			en, es = append(en, key, both.EN), append(es, key, both.In("es"))
			continue
		}
		is := fmt.Sprint(words[i+1])
		en, es = append(en, key, is), append(es, key, is)
	}
	return checks.Text{EN: strings.NewReplacer(en...).Replace(t.EN), ES: strings.NewReplacer(es...).Replace(t.ES)}
}
