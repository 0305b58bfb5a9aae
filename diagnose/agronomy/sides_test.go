package agronomy

import "testing"

func TestUnitsThatGoTogether(t *testing.T) {
	for _, c := range []struct{ like, mass, volume, area string }{
		{"lb N/1000 ft2", "lb/1000 ft2", "gal/1000 ft2", "ft2"}, {"fl oz/acre", "lb/acre", "gal/acre", "acre"},
		{"kg N/ha", "kg/ha", "L/ha", "ha"}, {"mL/100 m2", "kg/100 m2", "L/100 m2", "m2"}, {"g/m2", "g/m2", "L/100 m2", "m2"},
		{"ft2", "lb/1000 ft2", "gal/1000 ft2", "ft2"}, {"acre", "lb/acre", "gal/acre", "acre"}, {"m2", "g/m2", "L/100 m2", "m2"}, {"ha", "kg/ha", "L/ha", "ha"},
	} {
		if m, v, a := MassOn(c.like), VolumeOn(c.like), AreaLike(c.like); m != c.mass || v != c.volume || a != c.area {
			t.Errorf("%s goes with %s, %s, %s", c.like, m, v, a)
		}
	}
	for given, want := range map[string]string{"lb N/1000 ft2": "lb/1000 ft2", "% P2O5": "%", "lb ai/acre": "lb/acre", "lb": "lb", "% N": "%", "kg": "kg"} {
		if got := Bare(given); got != want {
			t.Errorf("Bare(%s) = %s", given, got)
		}
	}
}

func TestWholeThings(t *testing.T) {
	for _, c := range []struct{ x, up, down float64 }{{2.2, 3, 2}, {142.00000000001, 142, 142}, {0.3 / 0.1, 3, 3}, {2.9999999999999, 3, 3}, {0, 0, 0}} {
		if Up(c.x) != c.up || Down(c.x) != c.down {
			t.Errorf("%v: %v, %v", c.x, Up(c.x), Down(c.x))
		}
	}
	if !NoMore(0.875*0.8, 0.7) || NoMore(0.7001, 0.7) {
		t.Error("a limit reached exactly is not exceeded")
	}
}
