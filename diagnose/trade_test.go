package diagnose_test

import (
	"fmt"
	"testing"

	"swardbook/diagnose"
)

func measures(finding string, mean, sd float64, n int) diagnose.Observed {
	return diagnose.Observed{Finding: finding, Number: &diagnose.Number{Mean: mean, SD: sd, N: n}}
}

func signsOf(finding string, present ...string) diagnose.Observed {
	return diagnose.Observed{Finding: finding, Present: present}
}

// tradeFact is what everybody in the trade knows: seeing shown beside given makes cause at least so many times likelier. All of
// them are common practice, no source; the factors are ours and stand under what the knowledge gives, so that it may
// be corrected without breaking them.
type tradeFact struct {
	say, season string
	context     map[string]string
	given       []diagnose.Observed
	shown       diagnose.Observed
	cause       string
	factor      float64
}

var tradeFacts = []tradeFact{
	{"short cores after rain: a dry zone", "summer", map[string]string{"rain": "week"}, nil,
		measures("core_depth_in", 1.5, 0.5, 5), "drought_stress", 2},
	{"short cores after rain: a dry zone", "fall", map[string]string{"rain": "week"}, nil,
		measures("core_depth_in", 1.5, 0.5, 5), "drought_stress", 2},
	{"short cores after rain: water that does not get in", "summer", map[string]string{"rain": "week"}, nil,
		measures("core_depth_in", 1.5, 0.5, 5), "soil_compaction", 2},
	{"cores close together that differ much: uneven coverage", "summer", nil, nil,
		measures("core_spread_in", 6, 0, 1), "sprinkler_coverage", 3},
	{"upper soil wetter than lower: water does not get down", "summer", nil, nil,
		state("moisture_profile", "wet_over_dry"), "soil_compaction", 3},
	{"upper soil wetter than lower: water does not get down", "spring", nil, nil,
		state("moisture_profile", "wet_over_dry"), "hydrophobic_soil", 2},
	{"smooth rounded edges: sprinkler coverage", "summer", nil, nil,
		state("edge_shape", "smooth_rounded"), "sprinkler_coverage", 2.5},
	{"brown: water", "summer", nil, nil, state("colour", "brown"), "drought_stress", 1.4},
	{"brown: water", "summer", nil, nil, state("colour", "brown"), "sprinkler_coverage", 1.4},
	{"orange: fertilizer burn", "spring", nil, nil, state("colour", "orange"), "fertilizer_burn", 10},
	{"orange: fertilizer burn", "summer", nil, nil, state("colour", "orange"), "fertilizer_burn", 5},
	{"lime green: forced growth", "spring", nil, nil, state("colour", "lime"), "excess_nitrogen", 2},
	{"lime green: contaminated soil", "spring", nil, nil, state("colour", "lime"), "soil_chemistry", 1.3},
	{"white: herbicide injury", "spring", nil, nil, state("colour", "white"), "herbicide_injury", 10},
	{"yellow within three weeks of a spray: herbicide injury", "spring", nil, []diagnose.Observed{state("colour", "yellow_even")},
		state("herbicide_recent", "within_21d"), "herbicide_injury", 3},
	{"lifts as a mat without roots: root feeders", "fall", nil, nil, state("tug_test", "mat_lifts_no_roots"), "white_grubs", 4},
	{"blades come away, roots in place: surface feeders", "summer", nil, nil,
		state("tug_test", "blades_clipped_rooted"), "surface_caterpillars", 5},
	{"stems come away, roots in place: surface feeders", "summer", nil, nil,
		state("tug_test", "stems_snap_sawdust"), "billbugs", 8},
	{"under four hours of sun: bluegrass fails", "summer", nil, []diagnose.Observed{state("species", "kbg")},
		measures("sun_hours", 2.5, 0, 1), "shade", 3},
	{"under four hours of sun: bluegrass is the wrong grass", "summer", nil, []diagnose.Observed{state("species", "kbg")},
		measures("sun_hours", 2.5, 0, 1), "wrong_species", 1.8},
	{"sod over living grass does not root", "summer", nil, []diagnose.Observed{signsOf("site_event", "new_sod_60d")},
		state("probe_obstruction", "two_grass_layers"), "unrooted_sod", 2.5},
	{"heavy machines: compaction", "spring", nil, nil, signsOf("site_event", "heavy_traffic"), "soil_compaction", 2},
	{"heavy machines: wear", "spring", nil, nil, signsOf("site_event", "heavy_traffic"), "traffic_wear", 3},
	{"heavy machines: weeds and moss", "spring", nil, nil, signsOf("site_event", "heavy_traffic"), "weed_moss_invasion", 1.05},
}

func TestTradeFacts(t *testing.T) {
	for _, f := range tradeFacts {
		t.Run(fmt.Sprint(f.say, ", ", f.cause, ", ", f.season), func(t *testing.T) {
			c := diagnose.Case{Season: f.season, Context: f.context, Observed: f.given}
			without := likelihood(answer(t, engine(t), c), f.cause)
			c.Observed = append(f.given[:len(f.given):len(f.given)], f.shown)
			with := likelihood(answer(t, engine(t), c), f.cause)
			t.Logf("%s: %.3f without, %.3f with, x%.1f", f.cause, without, with, with/without)
			if with < f.factor*without {
				t.Errorf("%s rises from %.3f to %.3f only, less than x%g", f.cause, without, with, f.factor)
			}
		})
	}
}

// foreseen is the chance that one of states will be found when finding is looked at next.
func foreseen(t *testing.T, c diagnose.Case, finding string, states ...string) float64 {
	t.Helper()
	f, ok := loaded(t).Finding(finding)
	if !ok {
		t.Fatalf("no finding %s", finding)
	}
	sum := 0.0
	err := engine(t).Sets(c, func(active []int32, p float64) {
		set := make([]int, len(active))
		for i, a := range active {
			set[i] = int(a)
		}
		shares, _ := engine(t).Chances(finding, c.Season, set)
		for s := range f.States {
			for _, want := range states {
				if f.States[s].ID == want {
					sum += p * shares[s]
				}
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// Heavy machines thin the grass and bring moss: what will be found where they went. Common practice, no source.
func TestHeavyMachinesThinTheGrass(t *testing.T) {
	for _, w := range []struct {
		finding string
		states  []string
		factor  float64
	}{
		{"ground_cover_pct", []string{"thin", "sparse"}, 1.1},
		{"indicator_plants", []string{"compaction_weeds"}, 1.3},
		{"indicator_plants", []string{"moss_algae"}, 1.02},
	} {
		c := diagnose.Case{Season: "spring"}
		without := foreseen(t, c, w.finding, w.states...)
		c.Observed = []diagnose.Observed{signsOf("site_event", "heavy_traffic")}
		with := foreseen(t, c, w.finding, w.states...)
		t.Logf("%s %v: %.3f without, %.3f with", w.finding, w.states, without, with)
		if with < w.factor*without || with > 1 {
			t.Errorf("%s %v: %.3f without, %.3f with, want x%g", w.finding, w.states, without, with, w.factor)
		}
	}
}
