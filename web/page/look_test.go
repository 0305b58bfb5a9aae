package page

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"swardbook/static"
)

var (
	token  = regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`)
	scheme = regexp.MustCompile(`(?s):root \{(.*?)\n\s*\}`)
)

// schemes are the colours of the light and the dark scheme by name.
func schemes(t *testing.T) []map[string]string {
	t.Helper()
	raw, err := static.FS.ReadFile("css/look.css")
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, block := range scheme.FindAllStringSubmatch(string(raw), -1) {
		colours := map[string]string{}
		for _, m := range token.FindAllStringSubmatch(block[1], -1) {
			colours[m[1]] = m[2]
		}
		out = append(out, colours)
	}
	if len(out) != 2 || len(out[0]) < 12 || len(out[0]) != len(out[1]) {
		t.Fatalf("the schemes are %v", out)
	}
	return out
}

// luminance and contrast are those of WCAG 2.2.
func luminance(hex string) float64 {
	sum := 0.0
	for i, share := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			return math.NaN()
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += share * c
	}
	return sum
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestTextIsReadInSunlightAndControlsAreSeen(t *testing.T) {
	for i, c := range schemes(t) {
		for _, pair := range [][2]string{
			{"ink", "paper"}, {"ink", "card"}, {"ink", "leaf-wash"}, {"ink", "ochre-wash"}, {"ink", "brick-wash"},
			{"soft", "paper"}, {"soft", "card"}, {"soft", "leaf-wash"}, {"soft", "ochre-wash"}, {"leaf", "paper"}, {"leaf", "card"}, {"leaf-ink", "leaf"},
			{"leaf", "leaf-wash"}, {"ochre", "ochre-wash"}, {"brick", "brick-wash"}, {"brick", "paper"}, {"brick", "card"},
		} {
			if got := contrast(c[pair[0]], c[pair[1]]); !(got >= 7) {
				t.Errorf("scheme %d: %s on %s is %.2f, below 7", i, pair[0], pair[1], got)
			}
		}
		for _, pair := range [][2]string{{"edge", "paper"}, {"edge", "card"}, {"soil", "line"}, {"water", "paper"}} {
			if got := contrast(c[pair[0]], c[pair[1]]); !(got >= 3) {
				t.Errorf("scheme %d: %s on %s is %.2f, below 3", i, pair[0], pair[1], got)
			}
		}
	}
}
