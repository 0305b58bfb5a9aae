package checks

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"reflect"
	"strings"
	"testing"
)

// pieces are what the texts of the differential run are made of: what people type, and what they should not.
var pieces = strings.Split("0|1|2|7|12|007|9007199254740992|99999999999|1/2|3/8|/|½|⅔|⅕|.|,|2.5|0,25|-|−|+|;|; |in|cm|CM|ft|%|"+
	"can|band 10|; dead 5|40 60|;70 2|100|can|sqft|e3|NaN|٣|２|none|only|band|-band|mushrooms|dead|-dead|ragged|hat|"+
	" | |\u00a0|\u202f|\u2009|\u0085|\ufeff|\u3000|\t|\r\n|🌱|é|abcdef0123456789", "|")

type asked struct {
	Check Check  `json:"check"`
	Typed string `json:"typed"`
}

func generated(f vectorFile) []asked {
	r := rand.New(rand.NewPCG(7, 11))
	var all []asked
	for range 2000 {
		var text strings.Builder
		for range 1 + r.IntN(6) {
			text.WriteString(pieces[r.IntN(len(pieces))])
		}
		all = append(all, asked{f.Checks[r.IntN(len(f.Checks))], text.String()})
	}
	return all
}

const differ = `
import { read } from "./static/js/read.js";
let text = "";
process.stdin.setEncoding("utf8");
for await (const part of process.stdin) text += part;
process.stdout.write(JSON.stringify(JSON.parse(text).map(({ check, typed }) => read(check, typed))));
`

// inJavaScript reads all texts with static/js/read.js.
func inJavaScript(t *testing.T, all []asked) []any {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("node is needed to compare the two readers")
		}
		t.Skip("node is not installed; the phone's reader is compared only with it")
	}
	in, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(node, "--input-type=module", "-e", differ)
	cmd.Dir = "../.."
	cmd.Stdin = bytes.NewReader(in)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var read []any
	if err := json.Unmarshal(out, &read); err != nil {
		t.Fatal(err)
	}
	return read
}

func TestPhoneAndOfficeReadAlike(t *testing.T) {
	f, _ := vectors(t)
	all := generated(f)
	phone := inJavaScript(t, all)
	good := 0
	for i, a := range all {
		value, problems := Read(a.Check, a.Typed)
		if problems == nil {
			problems = []Problem{}
			good++
		}
		office := plainJSON(t, map[string]any{"value": value, "problems": problems})
		if !reflect.DeepEqual(office, phone[i]) {
			t.Errorf("%s %q: office %v, phone %v", a.Check.ID, a.Typed, office, phone[i])
		}
	}
	if good < 100 {
		t.Errorf("only %d of %d texts are readable; the run compares too little", good, len(all))
	}
}
