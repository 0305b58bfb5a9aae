package desk

import (
	"context"
	"encoding/base64"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/history"
	"swardbook/web/page"
)

// Share is what a client sees at an address without an account: one visit or one season in plain words. Only visits that are signed off are
// shown; notes, names of people, who decided what and why, and what was set aside never are.
func (d *Desk) Share(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("X-Robots-Tag", "noindex, nofollow, noarchive")
	w.Header().Set("Cache-Control", "no-store")
	link, err := d.db.OpenLink(r.Context(), hashOf(r.PathValue("token")))
	if err != nil {
		return err
	}
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	year := link.Year
	if link.Visit != "" {
		v, err := d.db.Visit(r.Context(), link.Visit)
		if err != nil {
			return err
		}
		if year, err = strconv.Atoi(v.Day[:4]); err != nil {
			return err
		}
	}
	record, err := history.Season(r.Context(), d.db, d.know(), link.Client, year)
	if err != nil {
		return err
	}
	v := page.ShareView{W: a.words, Firm: a.firm.Name, Client: record.Client.Name, NoPhotos: !record.Client.Photos.Shown(), Year: strconv.Itoa(year), Until: shortDay(link.Expires.In(a.place).Format(time.DateOnly))}
	told := map[string]bool{}
	for _, p := range record.Properties {
		part, err := d.shareProperty(r, a, record.Client.Photos, p, link.Visit, told)
		if err != nil {
			return err
		}
		if len(part.Visits)+len(part.Off) > 0 {
			v.Properties = append(v.Properties, part)
		}
	}
	return page.Write(w, r, http.StatusOK, page.Share(v))
}

// shareProperty is one address: what keeps people off it now, what became of its zones, and its visits; only one of them when it is named. What a
// cause means is said once on a page: told remembers it.
func (d *Desk) shareProperty(r *http.Request, a asking, consent store.Consent, p history.PropertyRecord, only string, told map[string]bool) (page.ShareProperty, error) {
	out := page.ShareProperty{Address: p.Property.Address}
	for _, v := range p.Visits {
		if v.Visit.State != store.SignedOff || only != "" && v.Visit.ID != only {
			continue
		}
		out.Visits = append(out.Visits, shareVisit(a, d.know(), v, told))
	}
	if only != "" && !slices.ContainsFunc(p.Visits, func(v history.VisitRecord) bool { return v.Visit.ID == only }) {
		return out, nil
	}
	if consent.Shown() {
		out.Pairs = d.sharePhotos(a, p, only)
	}
	out.Next = shareNext(a, p.Next)
	work, err := d.workOf(r.Context(), p.Property.ID)
	if err != nil {
		return out, err
	}
	out.Off = d.offSays(a, work)
	if only == "" {
		signed := slices.DeleteFunc(slices.Clone(p.Visits), func(v history.VisitRecord) bool { return v.Visit.State != store.SignedOff })
		for _, o := range history.Outcomes(signed, d.know().Bundle.Settings.Likely) {
			out.Outcomes = append(out.Outcomes, d.seasonOutcome(a, o))
		}
	}
	return out, nil
}

// sharePixels is how wide a photo on a client's page is.
const sharePixels = 640

// sharePhotos are each zone's first and last photo on what the link shows, within the page: made anew, so that nothing is in them but the picture.
func (d *Desk) sharePhotos(a asking, p history.PropertyRecord, only string) []page.SeasonPair {
	var shown []history.VisitRecord
	for _, v := range p.Visits {
		if v.Visit.State == store.SignedOff && (only == "" || v.Visit.ID == only) {
			shown = append(shown, v)
		}
	}
	var out []page.SeasonPair
	for _, pair := range history.Pairs(shown) {
		told := photoPair(a.words, pair, "")
		told.Photos = slices.DeleteFunc(told.Photos, func(x page.PhotoView) bool { return !d.hasPhoto(context.Background(), x.URL) })
		for i := range told.Photos {
			raw, err := d.photoBytes(told.Photos[i].URL)
			if err == nil {
				raw, err = history.Picture(raw, sharePixels)
			}
			told.Photos[i].URL = ""
			if err == nil {
				told.Photos[i].URL = "data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(raw)
			}
		}
		if told.Photos = slices.DeleteFunc(told.Photos, func(x page.PhotoView) bool { return x.URL == "" }); len(told.Photos) > 0 {
			out = append(out, told)
		}
	}
	return out
}

// shareNext says what we do, what the client does, and what to expect by when.
func shareNext(a asking, steps []history.NextStep) []page.ShareNext {
	var out []page.ShareNext
	for _, s := range steps {
		next := page.ShareNext{Do: a.prose(s.Do), Zones: strings.Join(s.Zones, ", "), Expect: a.prose(s.Result)}
		for _, say := range s.Client {
			next.You = append(next.You, a.prose(say))
		}
		if s.Day != "" {
			next.Day = day(s.Day)
		}
		if s.By != "" {
			next.By = shortDay(s.By)
		}
		out = append(out, next)
	}
	return out
}

func shareVisit(a asking, k *knowledge.Loaded, v history.VisitRecord, told map[string]bool) page.ShareVisit {
	out := page.ShareVisit{Day: day(v.Visit.Day)}
	var alike []page.ShareZone // zones of which one sentence says all, together
	for _, z := range v.Zones {
		zone, weighed := shareZone(a, k, z, told)
		at := slices.IndexFunc(alike, func(x page.ShareZone) bool { return x.Says == zone.Says })
		switch {
		case !weighed:
		case zone.Says == "":
			out.Zones = append(out.Zones, zone)
		case at >= 0:
			alike[at].Name += ", " + zone.Name
		default:
			alike = append(alike, zone)
		}
	}
	out.Zones = append(out.Zones, alike...)
	for _, x := range v.Applied {
		if x.Status == history.Current {
			out.Applied = append(out.Applied, shareApplied(a, x))
		}
	}
	return out
}

// shareZone says of one zone what is wrong, what that means and what to expect: at most the three causes to act on, as a manager let them stand.
func shareZone(a asking, k *knowledge.Loaded, z history.ZoneRecord, told map[string]bool) (out page.ShareZone, weighed bool) {
	out.Name = z.Zone.Name
	if out.Name == "" || z.Edition == "" {
		return out, false
	}
	var again []string
	for _, c := range z.Causes {
		cause, known := k.Cause(c.ID)
		if !known || c.Judgement == "ruled out" || c.Role == "" && c.Judgement != "confirmed" || len(out.Causes)+len(again) == 3 {
			continue
		}
		if told[c.ID] {
			again = append(again, cause.Label.In(a.words.Lang))
			continue
		}
		told[c.ID] = true
		out.Causes = append(out.Causes, page.ShareCause{Label: cause.Label.In(a.words.Lang), What: cause.What.In(a.words.Lang), Expect: cause.Expect.In(a.words.Lang)})
	}
	if len(again) > 0 {
		out.Again = strings.Join(again, "; ") + "."
	}
	if len(out.Causes)+len(again) == 0 {
		out.Says = a.words.T("share.unsure")
		if z.Verdict == "nothing_wrong" {
			out.Says = a.words.T("share.fine")
		}
	}
	return out, true
}

func shareApplied(a asking, x history.ApplicationRecord) page.Choice {
	out := page.Choice{Value: x.Name}
	for i, z := range x.Zones {
		if i > 0 {
			out.Label += "; "
		}
		out.Label += z.Zone.Name + ": " + a.amount(z.Amount, x.Unit)
	}
	return out
}
