package desk

import (
	"math"
	"net/http"

	"swardbook/store"
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
	if c.Rate <= 0 {
		row.Rate = a.words.T("calibration.unread")
		return row
	}
	row.Rate = a.rate(c.Rate, c.Unit+per1000)
	row.Working = []string{
		a.words.T("calibration.formula"),
		a.words.T("calibration.inputs", "collected", c.Collected, "unit", c.Unit, "width", c.Width, "length", c.Length),
		a.words.T("calibration.result", "rate", figure(c.Rate), "unit", c.Unit),
		a.words.T("calibration.source"),
	}
	if want, ok := d.book().Wanted(c); ok && want > 0 {
		off := (c.Rate/want - 1) * 100
		key := "calibration.above"
		if off < 0 {
			key = "calibration.below"
		}
		row.Off, row.Far = a.words.T(key, "percent", figure(math.Abs(off)), "want", figure(want)), math.Abs(off) > closeEnough
	}
	return row
}

// closeEnough is how far off, in percent, what comes out may be from what is wanted.
const closeEnough = 5
