package desk

import (
	"context"
	"io"
	"net/http"
	"net/url"

	"github.com/google/uuid"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/page"
)

type reviewStore interface {
	Reviews(ctx context.Context, visit string) ([]store.Review, error)
	AddReview(ctx context.Context, r store.Review) error
}

// Intake weighs a zone anew after the office changed what counts there, and takes in what was recorded at a desk.
type Intake interface {
	Queue(visit, zone string)
	Courses(ctx context.Context, visit store.Visit) (map[string]diagnose.Course, error)
	Paths(ctx context.Context, answered store.Diagnosis, visit store.Visit, property store.Property, readings []store.Reading) (diagnose.Paths, bool, error)
	Copy(ctx context.Context, from intake.Sender, photos intake.PhotoTaker, r io.Reader) (intake.Copied, error)
	Record(ctx context.Context, from intake.Sender, form string, body any) (id, aside string, err error)
	RecordFor(ctx context.Context, from intake.Sender, author, at, form string, body any) (id, aside string, err error)
}

// Overrule keeps what a person thinks of a cause, with their reason and the engine's own number beside it.
func (d *Desk) Overrule(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	visit, zone, cause := r.PathValue("visit"), form.V("zone"), form.V("cause")
	if _, err := d.db.Visit(r.Context(), visit); err != nil {
		return err
	}
	review, err := d.newReview(r.Context(), a, visit, zone, cause)
	if err != nil {
		return err
	}
	review.Kind, review.Judgement, review.Reason = "overrule", form.V("judgement"), form.V("reason")
	if review.Judgement != "ruled out" && review.Judgement != "confirmed" {
		form.Say("judgement", a.words.T("why.judgement.need"))
	}
	if review.Reason == "" {
		form.Say("reason", a.words.T("why.reason.need"))
	}
	if form.Bad() {
		return d.drawVisit(w, r, http.StatusUnprocessableEntity, wrongForms{overrule: form, cause: cause, zone: zone})
	}
	return done(w, r, d.db.AddReview(r.Context(), review), zoneURL(visit, zone), "overrule")
}

// newReview begins a review of a cause with what the engine thinks of it now.
func (d *Desk) newReview(ctx context.Context, a asking, visit, zone, cause string) (store.Review, error) {
	review := store.Review{ID: uuid.NewString(), Visit: visit, Zone: zone, Cause: cause, By: a.who.ID, At: d.now()}
	answers, err := d.answers(ctx, visit)
	if err != nil {
		return review, err
	}
	found, ok := answers[zone]
	if !ok {
		return review, store.Errorf(store.NotFound, "%s", a.words.T("why.unknown"))
	}
	c, ok := likelihoodOf(found.answer, cause)
	if !ok {
		return review, store.Errorf(store.NotFound, "%s", a.words.T("why.unknown"))
	}
	review.Diagnosis, review.Engine = found.ID, c.Likelihood
	return review, nil
}

func likelihoodOf(a diagnose.Answer, cause string) (diagnose.Likelihood, bool) {
	for _, c := range a.Causes {
		if c.ID == cause {
			return c, true
		}
	}
	return diagnose.Likelihood{}, false
}

// SignOff closes a visit that was handed in.
func (d *Desk) SignOff(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	v, err := d.handedIn(r, a)
	if err != nil {
		return err
	}
	review := store.Review{ID: uuid.NewString(), Visit: v.ID, Kind: "sign off", By: a.who.ID, At: d.now()}
	to := "/desk/"
	if form, err := page.ReadForm(a.words, r); err == nil && form.V("next") != "" {
		to = "/desk/visits/" + url.PathEscape(form.V("next")) // on to the next one that waits
	}
	return done(w, r, d.db.AddReview(r.Context(), review), to, "sign-off")
}

// handedIn is the visit asked for, which must be waiting for the office.
func (d *Desk) handedIn(r *http.Request, a asking) (store.Visit, error) {
	v, err := d.db.Visit(r.Context(), r.PathValue("visit"))
	if err == nil && v.State != store.HandedIn {
		err = store.Errorf(store.Conflict, "%s", a.words.T("visit.moved", "state", a.words.T("state."+string(v.State))))
	}
	return v, err
}

// SendBack gives a visit back to the crew with a sentence what is missing.
func (d *Desk) SendBack(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	v, err := d.handedIn(r, a)
	if err != nil {
		return err
	}
	if form.V("reason") == "" {
		form.Say("reason", a.words.T("visit.back.need"))
		return d.drawVisit(w, r, http.StatusUnprocessableEntity, wrongForms{back: form})
	}
	review := store.Review{ID: uuid.NewString(), Visit: v.ID, Kind: "send back", Reason: form.V("reason"), By: a.who.ID, At: d.now()}
	return done(w, r, d.db.AddReview(r.Context(), review), "/desk/", "send-back")
}

// Choose settles which of the readings that disagree counts.
func (d *Desk) Choose(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	visit := r.PathValue("visit")
	readings, err := d.db.Readings(r.Context(), visit)
	if err != nil {
		return err
	}
	for _, x := range readings {
		if x.ID != form.V("reading") || !x.Dispute {
			continue
		}
		review := store.Review{ID: uuid.NewString(), Visit: visit, Zone: x.Zone, Kind: "choose", Reading: x.ID, By: a.who.ID, At: d.now()}
		if err := d.db.AddReview(r.Context(), review); err != nil {
			return err
		}
		d.intake.Queue(visit, x.Zone)
		return back(w, r, zoneURL(visit, x.Zone), "choose")
	}
	return store.Errorf(store.NotFound, "%s", a.words.T("visit.reading.unknown"))
}
