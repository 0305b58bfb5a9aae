package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"maps"
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/web/desk"
)

// seasonsText is what lies behind the invented firm: data only.
//
//go:embed seasons.json
var seasonsText []byte

// seasons are stories of lawns, told walk by walk.
type seasons struct {
	Walks   [][2]any // years from this one, and the day of the year
	Clients []scenarioClient
	Stories map[string]story
}

// story is what each walk over a zone found and put down.
type story struct {
	Walks    [][][2]string
	Applied  map[string][3]any // by walk: an example, its amount per 1000 sq ft, and against what
	Photos   [][4]int          // walk, and the per cent that is bare, weedy, in the shade
	Overrule *struct {
		Walk              int
		Judgement, Reason string
	}
}

// past fills in the seasons before: everything was looked over and signed off.
func (f *filler) past(ctx context.Context) error {
	var s seasons
	if err := json.Unmarshal(seasonsText, &s); err != nil {
		return err
	}
	if err := f.addClients(ctx, s.Clients); err != nil {
		return err
	}
	zone, err := time.LoadLocation(f.sc.Firm.Zone)
	if err != nil {
		return err
	}
	for n, walk := range s.Walks {
		day, err := time.ParseInLocation("2006-01-02", fmt.Sprintf("%d-%s", f.now().In(zone).Year()+int(walk[0].(float64)), walk[1]), zone)
		if err != nil {
			return err
		}
		if day = day.Add(10 * time.Hour); day.After(f.now().AddDate(0, 0, -2)) {
			continue
		}
		if err := f.round(ctx, s, n, day); err != nil {
			return err
		}
	}
	return nil
}

// round is one walk over all properties: walked, weighed, judged and signed off.
func (f *filler) round(ctx context.Context, s seasons, n int, day time.Time) error {
	crews := []string{"jonah", "mirela"}
	var visits []store.Visit
	for i, p := range properties(s.Clients) {
		at := day.AddDate(0, 0, i/4)
		v := store.Visit{ID: f.id("visit", p.Key, strconv.Itoa(n)), Property: f.ids["property "+p.Key], Crew: f.ids["person "+crews[i%2]], Day: at.Format(time.DateOnly),
			Order: i%4 + 1, Why: "routine", State: store.Planned, Changed: f.now()}
		if err := f.db.AddVisit(ctx, v); err != nil {
			return err
		}
		if err := f.stroll(ctx, s, n, p, crews[i%2], v, at.Add(time.Duration(i%4)*time.Hour)); err != nil {
			return fmt.Errorf("walk %d at %s: %w", n, p.Address, err)
		}
		visits = append(visits, v)
	}
	for _, crew := range crews {
		if err := f.send(ctx, f.phone(crew)); err != nil {
			return err
		}
	}
	if err := f.wait(ctx); err != nil {
		return err
	}
	for i, p := range properties(s.Clients) {
		if err := f.close(ctx, s, n, p, visits[i]); err != nil {
			return err
		}
	}
	return nil
}

func properties(clients []scenarioClient) (out []scenarioProperty) {
	for _, c := range clients {
		out = append(out, c.Properties...)
	}
	return out
}

// stroll records what a walk over one property found, photographed and put down.
func (f *filler) stroll(ctx context.Context, s seasons, n int, p scenarioProperty, crew string, v store.Visit, at time.Time) error {
	phone := f.phone(crew)
	phone.record(at, "visit", map[string]any{"visit": v.ID, "state": string(store.UnderWay)}, v.ID, nil)
	for i, z := range p.Zones {
		told := s.Stories[z.Story]
		if n >= len(told.Walks) {
			return fmt.Errorf("the story %q has no walk %d", z.Story, n)
		}
		for j, r := range told.Walks[n] {
			f.record(phone, at.Add(time.Duration(i*6)*time.Minute+time.Duration(j)*20*time.Second), p.Key, v.ID, [3]string{z.Key, r[0], r[1]})
		}
		for _, photo := range told.Photos {
			if photo[0] != n {
				continue
			}
			raw, err := turf(p.Key+z.Key, photo[1], photo[2], photo[3] > 0)
			if err != nil {
				return err
			}
			f.picture(phone, at.Add(time.Duration(i*6+5)*time.Minute), v.ID, f.ids["zone "+p.Key+" "+z.Key], raw)
		}
		if put, ok := told.Applied[strconv.Itoa(n)]; ok {
			amount := strconv.FormatFloat(math.Floor(put[1].(float64)*z.Area/10)/100, 'f', -1, 64) // down: never above a label
			items := maps.Clone(f.sc.Put)
			if against, ok := put[2].(string); ok {
				items["target"] = against
			}
			x := scenarioApplied{Example: put[0].(string), Zones: map[string]string{z.Key: amount}, Items: items}
			if err := f.applied(ctx, phone, at.Add(40*time.Minute+time.Duration(i)*time.Minute), p.Key, v.ID, x); err != nil {
				return err
			}
		}
	}
	phone.record(at.Add(time.Hour), "visit", map[string]any{"visit": v.ID, "state": string(store.HandedIn)}, v.ID, nil)
	return nil
}

// close lets the manager overrule where the story says so, and signs off.
func (f *filler) close(ctx context.Context, s seasons, n int, p scenarioProperty, v store.Visit) error {
	all, err := f.db.LatestDiagnoses(ctx, v.ID)
	if err != nil {
		return err
	}
	for _, z := range p.Zones {
		o := s.Stories[z.Story].Overrule
		for _, d := range all {
			if o == nil || o.Walk != n || d.Zone != f.ids["zone "+p.Key+" "+z.Key] {
				continue
			}
			var answer diagnose.Answer
			if err := json.Unmarshal(d.Answer, &answer); err != nil || len(answer.Causes) == 0 {
				return errors.Join(err, errors.New("the demo's zone has no causes"))
			}
			lead := answer.Causes[0]
			if err := f.db.AddReview(ctx, store.Review{ID: f.id("overrule", v.ID, z.Key), Visit: v.ID, Zone: d.Zone, Kind: "overrule", Cause: lead.ID, Judgement: o.Judgement,
				Reason: o.Reason, Diagnosis: d.ID, Engine: lead.Likelihood, By: f.ids["person tamsin"], At: f.now()}); err != nil {
				return err
			}
		}
	}
	return f.signOff(ctx, v.ID)
}

// desk is the office's pages under a clock.
func (f *filler) desk(now func() time.Time) (*desk.Desk, error) {
	return desk.New(desk.Deps{DB: f.db, Intake: f.intake, Lessons: f.lessons, Photos: f.photos, Know: f.held.Know, Now: now})
}

// plans lets the manager sign what the planner makes of the last walk over the scenario's properties that wait for one.
func (f *filler) plans(ctx context.Context) error {
	d, err := f.desk(f.now)
	if err != nil {
		return err
	}
	who, err := f.db.Person(ctx, f.ids["person tamsin"])
	if err != nil {
		return err
	}
	for _, address := range f.sc.Planned {
		visits, err := f.db.Visits(ctx, store.VisitFilter{Property: f.ids["property "+address], States: []store.VisitState{store.SignedOff}})
		if err != nil {
			return err
		}
		if len(visits) == 0 {
			continue
		}
		if err := d.SignAsItStands(ctx, who, visits[len(visits)-1].ID, f.ids["person jonah"]); err != nil {
			return fmt.Errorf("the plan for %s: %w", address, err)
		}
	}
	return nil
}

// picture records an invented picture; its bytes go after the records, as a phone's do.
func (f *filler) picture(p *demoPhone, at time.Time, visit, zone string, raw []byte) {
	sum := sha256.Sum256(raw)
	sha := hex.EncodeToString(sum[:])
	for _, c := range f.held.Know().Bundle.Checks {
		if c.Kind == "photo" {
			body := map[string]any{"visit": visit, "zone": zone, "check": c.ID, "typed": sha, "edition": f.held.Know().Edition}
			p.record(at, "reading", body, "", []map[string]any{{"sha": sha, "size": len(raw), "type": "image/jpeg"}})
		}
	}
	p.pictures = append(p.pictures, raw)
}

// sizes of an invented picture, in pixels
const turfWide, turfHigh = 480, 320

// turf draws grass of which a per cent is bare and a per cent weedy, in patches that a seed places; the same each time.
func turf(seed string, bare, weeds int, shade bool) ([]byte, error) {
	sum := sha256.Sum256([]byte(seed))
	rng := rand.New(rand.NewChaCha8(sum))
	var places [9][2]float64
	for i := range places {
		places[i] = [2]float64{rng.Float64(), rng.Float64()}
	}
	field := make([]float64, turfWide*turfHigh) // how far from the next place, uneven
	sorted := make([]int, 100)
	for i := range field {
		x, y := float64(i%turfWide)/turfWide, float64(i/turfWide)/turfHigh
		near := 9.0
		for _, p := range places {
			near = min(near, math.Hypot(x-p[0], (y-p[1])*0.7))
		}
		field[i] = min(0.999, near*1.6+0.08*rng.Float64()+0.05*math.Sin(31*x)*math.Cos(23*y)+0.05)
		sorted[int(max(0, field[i])*100)]++
	}
	limit := 0.0
	for seen := 0; seen*100 < bare*len(field) && limit < 1; limit += 0.01 {
		seen += sorted[min(99, int(limit*100))]
	}
	im := image.NewRGBA(image.Rect(0, 0, turfWide, turfHigh))
	for i, v := range field {
		blade := uint8(rng.IntN(46))
		c := color.RGBA{46 + blade/2, 96 + blade, 40 + blade/3, 255}
		switch x, y := i%turfWide, i/turfWide; {
		case v < limit:
			c = color.RGBA{146 + blade, 112 + blade, 62 + blade/2, 255}
		case (x/9*31+y/9*17)%100 < weeds && rng.IntN(4) > 0:
			c = color.RGBA{70 + blade, 140 + blade, 60 + blade/2, 255}
			if rng.IntN(24) == 0 {
				c = color.RGBA{236, 236, 228, 255}
			}
		}
		if shade {
			c.R, c.G, c.B = c.R/2, c.G/2+8, c.B/2+10
		}
		im.SetRGBA(i%turfWide, i/turfWide, c)
	}
	var out bytes.Buffer
	err := jpeg.Encode(&out, im, &jpeg.Options{Quality: 60})
	return out.Bytes(), err
}
