package sampling

import (
	"math"
	"testing"
)

// Printed tables of the two-sided 95 % and 90 % values of Student's t, and of the normal distribution.
func TestQuantiles(t *testing.T) {
	for _, c := range []struct{ share, freedom, want float64 }{
		{0.975, 1, 12.706}, {0.975, 2, 4.303}, {0.975, 5, 2.571}, {0.975, 11, 2.201}, {0.975, 17, 2.110}, {0.975, 30, 2.042}, {0.975, 120, 1.980}, {0.95, 18, 1.734}, {0.95, 1, 6.314}, {0.995, 4, 4.604}, {0.025, 11, -2.201},
	} {
		if got := tQuantile(c.share, c.freedom); math.Abs(got-c.want) > 6e-4 {
			t.Errorf("t at %g with %g degrees: %g, want %g", c.share, c.freedom, got, c.want)
		}
	}
	for share, want := range map[float64]float64{0.975: 1.959963985, 0.95: 1.644853627, 0.995: 2.575829304, 0.5: 0, 0.025: -1.959963985} {
		if got := normalQuantile(share); math.Abs(got-want) > 1e-8 {
			t.Errorf("z at %g: %g, want %g", share, got, want)
		}
	}
}
