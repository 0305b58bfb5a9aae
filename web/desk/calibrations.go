package desk

import (
	"math"
	"net/http"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/sprayer"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// Calibrations lists what spreaders and sprayers were found to put out, newest first, each with its working.
func (d *Desk) Calibrations(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	list, err := d.db.Calibrations(r.Context(), 0)
	if err != nil {
		return err
	}
	names, err := d.names(r.Context())
	if err != nil {
		return err
	}
	rows := make([]page.CalibrationRow, len(list))
	for i, c := range list {
		rows[i] = d.calibrationRow(a, names, c)
	}
	f, err := d.frame(r, a, "materials", a.words.T("calibrations.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Calibrations(f, rows))
}

func (d *Desk) calibrationRow(a asking, names names, c store.Calibration) page.CalibrationRow {
	row := page.CalibrationRow{
		Equipment: c.Equipment, Kind: a.words.T("calibration." + c.Kind), Name: c.Name, Setting: c.Setting, Who: names.person(c.Author, a.words), When: stamp(c.At), Note: c.Note,
	}
	row.Nozzles = d.nozzleRows(a, c)
	if c.Rate <= 0 {
		row.Rate = a.words.T("calibration.unread")
		return row
	}
	row.Rate = a.rate(c.Rate, c.Unit+per1000)
	row.Working = []string{
		a.words.T("calibration.formula"),
		a.words.T("calibration.inputs", "collected", collectedSays(c), "unit", c.Unit, "width", c.Width, "length", c.Length),
		"= " + asGiven(agronomy.Q(c.Rate, c.Unit+per1000)),
		a.words.T("calibration.source"),
	}
	row.Working = a.worked(&agronomy.Quantity{Value: c.Rate, Unit: c.Unit + per1000}, row.Working)
	if want, ok := d.book().Wanted(c); ok && want > 0 {
		off := (c.Rate/want - 1) * 100
		key := "calibration.above"
		if off < 0 {
			key = "calibration.below"
		}
		row.Off, row.Far = a.words.T(key, "percent", figure(math.Abs(off)), "want", a.rate(want, c.Unit+per1000)), math.Abs(off) > closeEnough
	}
	return row
}

// collectedSays is what came out: the sum, or what each nozzle gave.
func collectedSays(c store.Calibration) string {
	if strings.TrimSpace(c.Collected) != "" {
		return c.Collected
	}
	return strings.ReplaceAll(c.Catches, ";", " +")
}

// nozzleRows say how far each nozzle is from the mean of all, and which are to be replaced, with the working.
func (d *Desk) nozzleRows(a asking, c store.Calibration) page.NozzleView {
	mean, list := d.book().Nozzles(c)
	var v page.NozzleView
	if len(list) == 0 {
		return v
	}
	v.Mean = a.words.T("calibration.mean", "n", len(list), "mean", a.amount(mean, c.Unit))
	amounts := make([]float64, len(list))
	for i, n := range list {
		amounts[i] = n.Caught
		key := "calibration.nozzle"
		if n.Off < 0 {
			key += ".below"
		}
		say := a.words.T(key, "n", i+1, "caught", a.amount(n.Caught, c.Unit), "percent", figure(math.Abs(n.Off)))
		if n.Worn {
			v.Worn = append(v.Worn, say)
		} else {
			v.Fine = append(v.Fine, say)
		}
	}
	if checked, err := sprayer.CheckNozzles(agronomy.Qs(volumeName(c.Unit), amounts...), agronomy.Q(record.WornFrom, "%"), agronomy.Quantity{}); err == nil {
		v.Working = checked.Worst.Working.Lines()
	}
	return v
}

// volumeName is a unit as the formulas of sprayers take it; a mass that was weighed is taken for water by weight.
func volumeName(unit string) string {
	if agronomy.SameKind(unit, "gal") {
		return unit
	}
	return "gal"
}

// closeEnough is how far off, in percent, what comes out may be from what is wanted.
const closeEnough = 5
