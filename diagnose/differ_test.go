package diagnose_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

// near is how far the two engines may be apart.
const near = 1e-9

const phoneEngine = `
import {readFileSync} from "node:fs";
import {makeEngine} from "./static/js/diagnose.js";
const {bundle, short, full} = JSON.parse(readFileSync(0, "utf8"));
const engine = makeEngine(bundle);
const out = (c, f) => { try { return f(c); } catch (e) { return {error: e.kind ?? e.findings?.join(" ") ?? String(e)}; } };
process.stdout.write(JSON.stringify({
  short: short.map((c) => out(c, engine.likelihoods)),
  full: full.map((c) => out(c, engine.diagnose)),
}));
`

// phoneAnswer is what the phone's engine says of a case: likelihoods alone, or all.
type phoneAnswer struct {
	diagnose.Answer
	Likelihoods []float64 `json:"likelihoods"`
	Error       string    `json:"error"`
}

type phoneRun struct {
	Short, Full []phoneAnswer
}

// onPhone starts static/js/diagnose.js on cases, all in one process, and returns how to wait for what it says.
func onPhone(t *testing.T, b *knowledge.Bundle, short, full []diagnose.Case) (wait func() phoneRun) {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("node is needed to compare the two engines")
		}
		t.Skip("node is not installed; the phone's engine is compared only with it")
	}
	in, err := json.Marshal(map[string]any{"bundle": b, "short": short, "full": full})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, "--input-type=module", "-e", phoneEngine)
	cmd.Dir = ".."
	cmd.Stdin = bytes.NewReader(in)
	cmd.Stderr = os.Stderr
	var out bytes.Buffer
	cmd.Stdout = &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return func() (run phoneRun) {
		t.Helper()
		if err := cmd.Wait(); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(out.Bytes(), &run); err != nil {
			t.Fatal(err)
		}
		return run
	}
}

// randomCase is a case of n findings of any form, in any season and context; now and then it says something wrong.
func randomCase(rng *rand.Rand, b *knowledge.Bundle, id int) diagnose.Case {
	c := diagnose.Case{ID: strconv.Itoa(id), Month: 1 + rng.IntN(12), Context: map[string]string{}, Observed: []diagnose.Observed{}}
	if rng.IntN(2) == 0 {
		c.Season = b.Seasons[rng.IntN(len(b.Seasons))]
	}
	for range rng.IntN(3) {
		when := b.Adjust[rng.IntN(len(b.Adjust))].When
		for k, v := range when {
			if k != "month" && k != "season" {
				c.Context[k] = v
			}
		}
	}
	order := rng.Perm(len(b.Findings))
	for _, f := range order[:rng.IntN(15)] {
		c.Observed = append(c.Observed, randomObserved(rng, b, &b.Findings[f]))
	}
	if rng.IntN(50) == 0 && len(c.Observed) > 0 {
		c.Observed[0].State = "something else"
	}
	if rng.IntN(3) == 0 {
		for _, i := range rng.Perm(len(b.Causes))[:rng.IntN(5)] {
			c.Before = append(c.Before, diagnose.Earlier{Cause: b.Causes[i].ID, Likelihood: rng.Float64(), Days: float64(rng.IntN(400))})
		}
		for _, i := range rng.Perm(len(b.Actions))[:rng.IntN(4)] {
			c.Done = append(c.Done, diagnose.Done{Action: b.Actions[i].ID, Days: float64(rng.IntN(100))})
		}
	}
	return c
}

func randomObserved(rng *rand.Rand, b *knowledge.Bundle, f *knowledge.Finding) diagnose.Observed {
	o := diagnose.Observed{Finding: f.ID}
	switch {
	case f.Multi:
		none := ""
		for _, c := range b.Checks {
			if c.None != "" && len(c.Yields) > 0 && c.Yields[0].Finding == f.ID {
				none = c.None
			}
		}
		for _, s := range f.States {
			if s.ID == none {
				continue
			}
			switch rng.IntN(4) {
			case 0:
				o.Present = append(o.Present, s.ID)
			case 1:
				o.Absent = append(o.Absent, s.ID)
			}
		}
		if len(o.Present)+len(o.Absent) == 0 {
			o.Present = []string{none}
		}
	case len(f.Bands) > 0 && rng.IntN(4) > 0:
		o.Number = randomNumber(rng, f)
	default:
		o.State = f.States[rng.IntN(len(f.States))].ID
	}
	return o
}

func randomNumber(rng *rand.Rand, f *knowledge.Finding) *diagnose.Number {
	band := f.Bands[rng.IntN(len(f.Bands))]
	high := band.High
	if high > 20*(band.Low+1) {
		high = 2 * (band.Low + 1) // the last band's end is no value that is ever measured
	}
	n := &diagnose.Number{Mean: band.Low + rng.Float64()*(high-band.Low), N: 1 + rng.IntN(5)}
	if rng.IntN(4) == 0 {
		n.Mean = band.Low
	}
	if n.N > 1 {
		n.SD = rng.Float64() * n.Mean
	}
	return n
}

// The phone and the office must say the same of the same readings.
func TestPhoneAndOfficeWeighAlike(t *testing.T) {
	const short, full = 10000, 500
	b, e := &loaded(t).Bundle, engine(t)
	rng := rand.New(rand.NewPCG(20, 26))
	cases := make([]diagnose.Case, short+full)
	for i := range cases {
		cases[i] = randomCase(rng, b, i)
	}
	wait := onPhone(t, b, cases[:short], cases[short:])
	office := make([]officeAnswer, len(cases))
	for i := range cases {
		office[i] = inOffice(e, cases[i], i >= short)
	}
	run := wait()
	wrong, worst := 0, 0.0
	for i, phone := range slices.Concat(run.Short, run.Full) {
		o := office[i]
		if !sameError(o.err, phone.Error) {
			t.Fatalf("case %d: office says %v, phone %q", i, o.err, phone.Error)
		}
		switch {
		case o.err != nil:
			wrong++
		case i >= short:
			sameAnswer(t, cases[i].ID, o.Answer, phone.Answer)
		default:
			worst = max(worst, apart(o.like, phone.Likelihoods), math.Abs(o.NothingWrong-phone.NothingWrong))
		}
	}
	t.Logf("largest difference %.2g; %d cases refused by both", worst, wrong)
	if !(worst < near) || len(run.Short)+len(run.Full) != len(cases) {
		t.Errorf("the engines are %g apart", worst)
	}
	if wrong == 0 || wrong > len(cases)/10 {
		t.Errorf("%d of %d cases refused: the generator has lost its mixture", wrong, len(cases))
	}
}

type officeAnswer struct {
	diagnose.Answer
	like []float64
	err  error
}

func inOffice(e *diagnose.Engine, c diagnose.Case, full bool) (o officeAnswer) {
	if full {
		o.Answer, o.err = e.Diagnose(c)
		return o
	}
	o.like, o.NothingWrong, o.err = e.Likelihoods(c)
	return o
}

func sameError(err error, phone string) bool {
	var input *diagnose.InputError
	var clash *diagnose.Contradiction
	switch {
	case err == nil:
		return phone == ""
	case errors.As(err, &input):
		return phone == string(input.Kind)
	case errors.As(err, &clash):
		return phone != "" && phone != string(diagnose.UnknownState)
	}
	return false
}

// apart is the largest difference of two lists; lists of different length are infinitely far apart.
func apart(a, b []float64) float64 {
	if len(a) != len(b) {
		return math.Inf(1)
	}
	var worst float64
	for i := range a {
		worst = max(worst, math.Abs(a[i]-b[i]))
	}
	return worst
}

func sameAnswer(t *testing.T, name string, a, b diagnose.Answer) {
	t.Helper()
	if a.Season != b.Season || a.Verdict != b.Verdict || a.Counted != b.Counted || !slices.Equal(a.Ignored, b.Ignored) ||
		math.Abs(a.NothingWrong-b.NothingWrong) > near || len(a.Causes) != len(b.Causes) {
		t.Fatalf("%s: %+v\n%+v", name, a, b)
	}
	for i, x := range a.Causes {
		y := b.Causes[i]
		if x.ID != y.ID || x.Role != y.Role || !slices.Equal(x.DrivenBy, y.DrivenBy) || math.Abs(x.Likelihood-y.Likelihood) > near || math.Abs(x.Carried-y.Carried) > near {
			t.Fatalf("%s: place %d: %+v\n%+v", name, i+1, x, y)
		}
		if !sameWeights(x.For, y.For) || !sameWeights(x.Against, y.Against) {
			t.Fatalf("%s: %s: for and against\n%+v\n%+v", name, x.ID, x, y)
		}
	}
	if !slices.EqualFunc(a.Next, b.Next, func(x, y diagnose.Next) bool {
		return x.Check == y.Check && x.Minutes == y.Minutes && math.Abs(x.Gain-y.Gain) < near && slices.Equal(x.Apart, y.Apart)
	}) {
		t.Fatalf("%s: next\n%+v\n%+v", name, a.Next, b.Next)
	}
}

// Weights are differences of log-odds; close to certainty these magnify the last bits of a likelihood.
func sameWeights(a, b []diagnose.Weight) bool {
	return slices.EqualFunc(a, b, func(x, y diagnose.Weight) bool {
		return x.Finding == y.Finding && x.State == y.State && math.Abs(x.Weight-y.Weight) < 1e-7
	})
}
