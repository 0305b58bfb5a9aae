package desk

import (
	"cmp"
	"context"
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/web/page"
)

// seen fills in the readings of a zone in catalogue order, what the visit before said, and the photos.
func (d *Desk) seen(ctx context.Context, a asking, o opened, z *page.ZoneView, notes *page.Notes) error {
	before, err := d.readingsBefore(ctx, o.visit, z.ID)
	if err != nil {
		return err
	}
	here := ofZone(o.readings, z.ID)
	for _, section := range d.know().Bundle.Sections {
		part := page.SeenSection{Label: section.Label.In(a.words.Lang)}
		for _, c := range d.know().Bundle.Checks {
			if c.Section == section.ID && c.Kind != checks.Photo {
				part.Rows = append(part.Rows, d.seenRows(a, o, c, here[c.ID], before[c.ID], notes)...)
			}
		}
		if len(part.Rows) > 0 {
			z.Seen = append(z.Seen, part)
		}
	}
	for _, c := range d.know().Bundle.Checks {
		if c.Kind == checks.Photo {
			z.Photos = append(z.Photos, d.photoViews(ctx, a, o, here[c.ID])...)
			for _, p := range d.photoViews(ctx, a, o, before[c.ID]) {
				p.Earlier, p.Caption = true, a.words.T("visit.photo.earlier", "caption", p.Caption)
				z.Photos = append(z.Photos, p)
			}
		}
	}
	z.Disputes = d.disputeViews(a, o, here)
	return nil
}

// ofZone are the readings of a zone by check, oldest first. Where it has none of its own, those of the whole visit count.
func ofZone(readings []store.Reading, zone string) map[string][]store.Reading {
	out, whole := map[string][]store.Reading{}, map[string][]store.Reading{}
	for _, r := range readings {
		switch r.Zone {
		case zone:
			out[r.Check] = append(out[r.Check], r)
		case "":
			whole[r.Check] = append(whole[r.Check], r)
		}
	}
	for check, list := range whole {
		if _, own := out[check]; !own {
			out[check] = list
		}
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b store.Reading) int { return cmp.Compare(a.Seq, b.Seq) })
	}
	return out
}

func (d *Desk) seenRows(a asking, o opened, c checks.Check, readings, before []store.Reading, notes *page.Notes) []page.SeenRow {
	current, ok := currentOf(readings)
	if !ok || blank(c, current) {
		return nil
	}
	label := c.Label.In(a.words.Lang)
	row := page.SeenRow{
		Check: label, Value: notes.Of(label, say(c, current, a.words), d.measuredWorking(c, current)), Who: o.names.person(current.Author, a.words),
		When: clock(current.At), Dispute: current.Dispute, Note: c.Kind == checks.Note,
	}
	if was, ok := currentOf(before); ok && !blank(c, was) {
		row.Before = page.Worked{Say: say(c, was, a.words), Lines: d.measuredWorking(c, was)}
	}
	return []page.SeenRow{row}
}

func currentOf(readings []store.Reading) (store.Reading, bool) {
	for _, r := range readings {
		if r.Current {
			return r, true
		}
	}
	return store.Reading{}, false
}

// blank reports whether a reading takes an earlier answer back.
func blank(c checks.Check, r store.Reading) bool {
	v, _ := checks.Read(c, r.Typed)
	return v.Blank
}

// readingsBefore are the readings of a zone at the visit before.
func (d *Desk) readingsBefore(ctx context.Context, v store.Visit, zone string) (map[string][]store.Reading, error) {
	previous, ok, err := d.visitBefore(ctx, v)
	if err != nil || !ok {
		return nil, err
	}
	readings, err := d.db.Readings(ctx, previous.ID)
	return ofZone(readings, zone), err
}

// disputeViews are the checks whose readings disagree, each with its readings to choose from.
func (d *Desk) disputeViews(a asking, o opened, here map[string][]store.Reading) []page.DisputeView {
	var out []page.DisputeView
	for _, c := range d.know().Bundle.Checks {
		v := page.DisputeView{Check: c.Label.In(a.words.Lang)}
		for _, r := range here[c.ID] {
			if r.Dispute {
				v.Choices = append(v.Choices, page.DisputeChoice{
					Reading: r.ID, Value: say(c, r, a.words), Who: o.names.person(r.Author, a.words), When: clock(r.At), Counts: r.Current,
				})
			}
		}
		if len(v.Choices) > 0 {
			out = append(out, v)
		}
	}
	return out
}

// photoViews are the photos of a zone; one that is still on a phone is named and not drawn.
func (d *Desk) photoViews(ctx context.Context, a asking, o opened, readings []store.Reading) []page.PhotoView {
	out := make([]page.PhotoView, 0, len(readings))
	for _, r := range readings {
		when, here := stamp(r.At), d.hasPhoto(ctx, r.Typed)
		out = append(out, page.PhotoView{
			URL: "/desk/photos/" + r.Typed, Here: here, LetGo: !here && d.wasLetGo(ctx, r.Typed), Caption: when + ", " + o.names.person(r.Author, a.words),
			Alt: a.words.T("visit.photo.alt", "when", when),
		})
	}
	return out
}
