package desk

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"swardbook/store"
	"swardbook/store/geo"
	"swardbook/web/page"
)

type sketchStore interface {
	SaveSketch(ctx context.Context, property string, place *store.LonLat, zones []store.Zone) error
}

// Map is the sketch map of a property: its zones as they were drawn or walked, and nothing of anybody else's.
func (d *Desk) Map(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawMap(w, r, a, http.StatusOK, page.Form{})
}

func (d *Desk) drawMap(w http.ResponseWriter, r *http.Request, a asking, status int, form page.Form) error {
	p, zones, err := d.mapped(r.Context(), r.PathValue("property"))
	if err != nil {
		return err
	}
	v := page.MapView{Form: form, ID: p.ID, Metric: a.firm.Units == "metric"}
	if p.Place != nil {
		v.Place = geo.Ring{*p.Place}.Lines()
	} else if v.Near, err = d.nearby(r.Context(), p); err != nil {
		return err
	}
	rings := make([]geo.Ring, len(zones))
	for i, z := range zones {
		if rings[i], err = geo.ParseRing(z.Outline); err != nil {
			return fmt.Errorf("outline of zone %s: %w", z.ID, err)
		}
		v.Zones = append(v.Zones, page.MapZone{ID: z.ID, N: strconv.Itoa(i), Name: z.Name, Area: area(z.AreaSqFt, a.firm, a.words), Outline: rings[i].Lines(), Drawn: len(rings[i]) > 0})
	}
	v.Sketch = sketchView(a, rings, zones)
	f, err := d.frame(r, a, "clients", a.words.T("map.of", "address", p.Address))
	if err != nil {
		return err
	}
	f.CSS = []string{"office.css"}
	f.Modules = append(f.Modules, "sketch.js")
	return page.Write(w, r, status, page.Map(f, v))
}

// mapped is a property with its zones at work.
func (d *Desk) mapped(ctx context.Context, id string) (p store.Property, zones []store.Zone, err error) {
	if p, err = d.db.Property(ctx, id); err != nil {
		return p, nil, err
	}
	all, err := d.db.Zones(ctx, id)
	for _, z := range all {
		if z.Archived.IsZero() {
			zones = append(zones, z)
		}
	}
	return p, zones, err
}

// nearby is where another property of the firm lies, the client's own first: a place to begin from, and no more than that.
func (d *Desk) nearby(ctx context.Context, p store.Property) (string, error) {
	all, err := d.db.Properties(ctx, "")
	near := ""
	for _, x := range all {
		if x.Place != nil && (near == "" || x.Client == p.Client) {
			near = geo.Ring{*x.Place}.Lines()
		}
	}
	return near, err
}

func sketchView(a asking, rings []geo.Ring, zones []store.Zone) page.SketchView {
	s, ok := geo.Draw(rings)
	if !ok {
		return page.SketchView{}
	}
	v := page.SketchView{Bar: fmt.Sprintf("%.1f", s.Bar), Scale: metresSay(a, s.Metres)}
	for i, x := range s.Shapes {
		if x.Points != "" {
			v.Shapes = append(v.Shapes, page.SketchShape{Points: x.Points, X: fmt.Sprintf("%.1f", x.X), Y: fmt.Sprintf("%.1f", x.Y), Name: zones[i].Name, Area: area(zones[i].AreaSqFt, a.firm, a.words)})
		}
	}
	return v
}

func metresSay(a asking, m float64) string {
	if a.firm.Units == "metric" {
		return figure(m) + "\u202fm"
	}
	return fmt.Sprintf("%.0f ft", m/0.3048)
}

// SaveMap takes in a place and outlines. What can't be read is said at its input and nothing is saved.
func (d *Desk) SaveMap(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, zones, err := d.mapped(r.Context(), r.PathValue("property"))
	if err != nil {
		return err
	}
	place := readPlace(&form)
	var drawn []store.Zone
	for i, z := range zones {
		n := strconv.Itoa(i)
		if form.V("zone."+n) != z.ID {
			continue // zones came or went meanwhile: what was typed for another one is not for this one
		}
		changed, ok := readOutline(a, &form, &z, n)
		if ok && changed {
			drawn = append(drawn, z)
		}
		if ring, err := geo.ParseRing(z.Outline); place == nil && err == nil && form.V("place") == "" {
			if at, ok := geo.Middle(ring); ok {
				place = &at
			}
		}
	}
	if form.Bad() {
		return d.drawMap(w, r, a, http.StatusUnprocessableEntity, form)
	}
	return done(w, r, d.db.SaveSketch(r.Context(), p.ID, place, drawn), "/desk/properties/"+p.ID+"/map", "changed")
}

func readPlace(form *page.Form) *store.LonLat {
	if form.V("place") == "" {
		return nil
	}
	at, err := geo.ReadPlace(form.V("place"))
	if err != nil {
		form.Say("place", capital(err.Error())+".")
		return nil
	}
	return &at
}

// readOutline reads the outline of a zone; when it is another one than before, the area becomes that of the outline unless it is to stay.
func readOutline(a asking, form *page.Form, z *store.Zone, n string) (changed, ok bool) {
	name := "outline." + n
	ring, err := geo.ReadRing(form.V(name))
	if err != nil {
		form.Say(name, a.words.T("map.outline.wrong", "why", err.Error()))
		return false, false
	}
	before := z.Outline
	z.Outline = ring.String()
	if z.Outline == before {
		return false, true
	}
	if len(ring) > 0 && form.V("keep."+n) == "" {
		if z.AreaSqFt, err = ring.SqFt(); err != nil {
			form.Say(name, a.words.T("map.outline.wrong", "why", err.Error()))
			return false, false
		}
	}
	return true, true
}
