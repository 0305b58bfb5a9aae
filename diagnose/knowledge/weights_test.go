package knowledge

import (
	"strings"
	"testing"
)

func TestANumberOfTheFirmsOwn(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	theirs, err := LoadFS(Overlay(Files(), Texts{
		"links.csv":   "finding,state,cause,word,source\npattern,uniform,drought_stress,0.333,EJ; OWN\n",
		"drives.csv":  "parent,child,word,source\nsoil_compaction,drought_stress,0.25,OWN\n",
		"sources.csv": "key,title,by,year,status\nOWN,Our own visits,,,own\n",
	}, "learned"))
	if err != nil {
		t.Fatal(err)
	}
	f, _ := theirs.Finding("pattern")
	for _, r := range f.Rows {
		if r.State == "uniform" && r.Cause == "drought_stress" && (r.P != 0.333 || r.Word != "" || r.Source != "EJ; OWN") {
			t.Errorf("row %+v", r)
		}
	}
	was, _ := ours.Finding("pattern")
	if len(f.Rows) != len(was.Rows) || theirs.Edition == ours.Edition {
		t.Errorf("%d rows of %d, edition %s", len(f.Rows), len(was.Rows), theirs.Edition)
	}
	for _, number := range []string{"1", "0", "-0.2", "NaN", "0.9999", "1e-9"} {
		_, err := LoadFS(Overlay(Files(), Texts{"links.csv": "finding,state,cause,word,source\npattern,uniform,drought_stress," + number + ",EJ\n"}, "learned"))
		if err == nil || !strings.Contains(err.Error(), "learned/links.csv:2") {
			t.Errorf("%s: %v", number, err)
		}
	}
}

func TestWeights(t *testing.T) {
	k, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	judged, read := k.Weights.Of(k, "link", "EJ"), k.Weights.Of(k, "link", "CSU-IRR")
	if judged <= 0 || read <= judged {
		t.Errorf("a judged link is worth %v cases, one that was read %v", judged, read)
	}
	if got := k.Weights.Of(k, "link", "EJ; CSU-IRR"); got != read {
		t.Errorf("a link of two sources is worth %v cases, want %v", got, read)
	}
	const head = "kind,judgement,practice,memory,part,read,source\n"
	for name, x := range map[string]struct{ text, want string }{
		"no belief at all": {head + "rate,0,40,40,60,80,EJ\n", "learned/weights.csv:2: judgement: 0 is outside"},
		"an unknown kind":  {head + "mood,40,40,40,60,80,EJ\n", "a kind is rate, link or drive"},
		"no source":        {head + "rate,40,40,40,60,80,\n", "learned/weights.csv:2: no source"},
		"said twice":       {head + strings.Repeat("rate,40,40,40,60,80,EJ\n", 2), `learned/weights.csv:3: "rate" is already given`},
	} {
		_, err := LoadFS(Overlay(Files(), Texts{"weights.csv": x.text}, "learned"))
		if err == nil || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: %v, want %s", name, err, x.want)
		}
	}
}
