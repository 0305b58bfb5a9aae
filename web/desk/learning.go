package desk

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"slices"
	"strconv"

	"swardbook/diagnose/learn"
	"swardbook/store"
	"swardbook/store/lessons"
	"swardbook/web/page"
)

// Lessons learns from signed-off visits.
type Lessons interface {
	Propose(ctx context.Context) (lessons.Proposal, error)
	Accept(ctx context.Context, token, by string) error
	Undo(ctx context.Context, id, by string) error
	Standing(ctx context.Context) (lessons.Standing, error)
	Scores(ctx context.Context) (lessons.Scores, error)
}

// fewCases is how many spoken-of cases, or likelihoods, a page asks for before it stops warning that they are few.
const fewCases = 30

// Learning is what the firm's own cases would change, and what was accepted.
func (d *Desk) Learning(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	v, err := d.learning(r.Context(), a)
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "learning", a.words.T("learning.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Learning(f, v))
}

func (d *Desk) learning(ctx context.Context, a asking) (page.LearningView, error) {
	p, err := d.lessons.Propose(ctx)
	if err != nil {
		return page.LearningView{}, err
	}
	standing, err := d.lessons.Standing(ctx)
	if err != nil {
		return page.LearningView{}, err
	}
	w := a.words
	v := page.LearningView{
		Say: w.T("learning.say", "zones", strconv.Itoa(p.Report.Cases), "spoken", strconv.Itoa(p.Report.Spoken)), Token: p.Token, Edition: standing.Now,
	}
	if p.Report.Spoken < fewCases {
		v.Little = w.T("learning.few")
	}
	if p.Report.Left > 0 {
		v.Left = w.T("learning.left", "n", strconv.Itoa(p.Report.Left))
	}
	switch {
	case standing.Broken != "":
		v.Broken = w.T("learning.broken", "reason", standing.Broken)
	case standing.Stale:
		v.Stale = w.T("learning.stale")
	}
	for _, c := range p.Report.Changes {
		v.Changes = append(v.Changes, d.changeRow(w, c))
	}
	v.Accepted, err = d.acceptedRows(ctx, a, standing)
	return v, err
}

// changeRow says what a number is in words that need no table beside them.
func (d *Desk) changeRow(w page.Words, c learn.Change) page.ChangeRow {
	row := page.ChangeRow{
		About: causeLabel(d.know(), c.Cause, w.Lang), URL: "/desk/causes/" + c.Cause, Before: chance(c.Before), After: chance(c.After),
		Between: w.T("learning.between", "from", chance(c.From), "to", chance(c.To)),
		Cases:   w.T("learning.behind", "cases", number(c.Cases, 0), "spoken", strconv.Itoa(c.Labels), "weight", number(c.Weight, 0)),
		Sure:    page.Reason{Kind: "ask", Say: w.T("sure.likely")},
	}
	if c.Before < c.From || c.Before > c.To {
		row.Sure = page.Reason{Kind: "done", Say: w.T("sure.clear")}
	}
	switch c.Kind {
	case learn.Rate:
		row.What = w.T("learning.rate", "season", w.T("season."+c.Season))
	case learn.Drive:
		row.What = w.T("learning.drive", "child", causeLabel(d.know(), c.Child, w.Lang))
	default:
		row.What = w.T("learning.link.say", "finding", d.findingSays(c.Finding, c.State, w.Lang))
	}
	return row
}

// acceptedRows are what was accepted, newest first.
func (d *Desk) acceptedRows(ctx context.Context, a asking, standing lessons.Standing) ([]page.AcceptedRow, error) {
	names, err := d.names(ctx)
	if err != nil {
		return nil, err
	}
	var rows []page.AcceptedRow
	for _, l := range slices.Backward(standing.All) {
		var report learn.Report
		if err := json.Unmarshal(l.Report, &report); err != nil {
			return nil, err
		}
		row := page.AcceptedRow{
			ID: l.ID, Who: names.person(l.By, a.words), When: moment(l.At, a.place), Edition: l.Edition, Last: l.ID == standing.InForce,
			Changes: a.words.T("learning.counted", "changes", strconv.Itoa(len(report.Changes)), "zones", strconv.Itoa(report.Cases)),
		}
		if !l.Stands() {
			row.Undone = names.person(l.UndoneBy, a.words) + ", " + moment(l.UndoneAt, a.place)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// AcceptLearning lets the report that was seen count.
func (d *Desk) AcceptLearning(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	return done(w, r, d.lessons.Accept(r.Context(), form.V("token"), a.who.ID), "/desk/learning", "learned")
}

// UndoLearning takes back what was accepted last.
func (d *Desk) UndoLearning(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	if form.V("learned") == "" {
		return store.Errorf(store.Conflict, "%s", a.words.T("learning.accepted.none"))
	}
	return done(w, r, d.lessons.Undo(r.Context(), form.V("learned"), a.who.ID), "/desk/learning", "unlearned")
}

// Scores is how far the likelihoods of signed-off visits held.
func (d *Desk) Scores(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	s, err := d.lessons.Scores(r.Context())
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "learning", a.words.T("scores.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Scores(f, d.scoresView(a.words, s)))
}

func (d *Desk) scoresView(w page.Words, s lessons.Scores) page.ScoresView {
	n := strconv.Itoa
	v := page.ScoresView{Say: w.T("scores.say", "visits", n(s.Visits), "zones", n(s.Zones), "spoken", n(s.Spoken), "n", n(s.All.N), "true", n(s.All.True))}
	switch {
	case s.All.N == 0:
		v.Say, v.Little = w.T("scores.nothing", "visits", n(s.Visits)), ""
		return v
	case s.All.N < fewCases:
		v.Little = w.T("scores.few", "n", n(s.All.N))
	}
	better := "scores.brier.better"
	if s.All.Brier >= s.All.Base {
		better = "scores.brier.worse"
	}
	v.Brier = w.T("scores.brier.say", "brier", thousandths(s.All.Brier)) + " " + w.T(better, "base", thousandths(s.All.Base))
	for _, b := range s.All.Bins {
		v.Curve.PutPoint(b.Mean, b.Share, b.From, b.To)
		v.Bins = append(v.Bins, page.BinRow{
			Said: span(b.Low, b.High), Times: n(b.N), Mean: whole(b.Mean), True: whole(b.Share),
			Between: span(b.From, b.To),
		})
	}
	v.Curve.Label = w.T("scores.curve.label", "n", n(len(v.Bins)))
	for _, c := range s.Causes {
		v.Causes = append(v.Causes, page.ScoreRow{
			URL: "/desk/causes/" + c.Cause, Cause: causeLabel(d.know(), c.Cause, w.Lang), Times: n(c.N), True: n(c.True), Brier: thousandths(c.Brier),
		})
	}
	return v
}

// thousandths writes a score, so that scores stand one below the other.
func thousandths(x float64) string { return strconv.FormatFloat(x, 'f', 3, 64) }

// span writes two shares in whole percent.
func span(from, to float64) string {
	return strconv.Itoa(int(math.Round(100*from))) + "–" + whole(to)
}

// whole writes a share in whole percent.
func whole(p float64) string { return strconv.Itoa(int(math.Round(100*p))) + "\u00a0%" }
