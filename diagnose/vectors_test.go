package diagnose_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"strings"
	"sync"
	"testing"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
)

var update = flag.Bool("update", false, "write the expected answers of testdata/vectors/diagnose.json anew")

const vectorsPath = "../testdata/vectors/diagnose.json"

// vector is a named case with what both engines must say of it: an answer or an error.
type vector struct {
	Name   string           `json:"name"`
	Why    string           `json:"why"`
	Case   diagnose.Case    `json:"case"`
	Answer *diagnose.Answer `json:"answer,omitempty"`
	Error  *vectorError     `json:"error,omitempty"`
}

type vectorError struct {
	Kind     string   `json:"kind"`     // of an InputError; "contradiction"
	Findings []string `json:"findings"` // which it names
}

// small is the invented bundle of the vectors.
func small(t testing.TB) *knowledge.Bundle {
	t.Helper()
	raw, err := os.ReadFile("../testdata/vectors/diagnose-bundle.json")
	if err != nil {
		t.Fatal(err)
	}
	var b knowledge.Bundle
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&b); err != nil {
		t.Fatal(err)
	}
	return &b
}

var smallOnce sync.Map

// smallEngine is the engine on the invented bundle.
func smallEngine(t testing.TB) *diagnose.Engine {
	t.Helper()
	if e, ok := smallOnce.Load("engine"); ok {
		return e.(*diagnose.Engine)
	}
	e, err := diagnose.New(small(t))
	if err != nil {
		t.Fatal(err)
	}
	smallOnce.Store("engine", e)
	return e
}

func outcome(e *diagnose.Engine, c diagnose.Case) (*diagnose.Answer, *vectorError) {
	a, err := e.Diagnose(c)
	var input *diagnose.InputError
	var clash *diagnose.Contradiction
	switch {
	case errors.As(err, &input):
		v := &vectorError{Kind: string(input.Kind), Findings: []string{}}
		if input.Finding != "" {
			v.Findings = []string{input.Finding}
		}
		return nil, v
	case errors.As(err, &clash):
		return nil, &vectorError{Kind: "contradiction", Findings: clash.Findings}
	}
	return &a, nil
}

func TestVectors(t *testing.T) {
	raw, err := os.ReadFile(vectorsPath)
	if err != nil {
		t.Fatal(err)
	}
	var all []vector
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	e := smallEngine(t)
	if *update {
		writeVectors(t, e, all)
		return
	}
	names := map[string]bool{}
	for _, v := range all {
		t.Run(v.Name, func(t *testing.T) {
			if v.Name == "" || v.Why == "" || names[v.Name] {
				t.Error("a vector needs a name of its own and a reason")
			}
			names[v.Name] = true
			a, wrong := outcome(e, v.Case)
			switch {
			case (a == nil) != (v.Answer == nil):
				t.Fatalf("%+v, %+v", a, wrong)
			case a != nil:
				sameAnswer(t, v.Name, *a, *v.Answer)
			case wrong.Kind != v.Error.Kind || strings.Join(wrong.Findings, " ") != strings.Join(v.Error.Findings, " "):
				t.Fatalf("%+v, want %+v", wrong, v.Error)
			}
		})
	}
}

func writeVectors(t *testing.T, e *diagnose.Engine, all []vector) {
	var out bytes.Buffer
	sep := "[\n"
	for _, v := range all {
		v.Answer, v.Error = outcome(e, v.Case)
		line, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		out.WriteString(sep)
		out.Write(line)
		sep = ",\n"
	}
	out.WriteString("\n]\n")
	if err := os.WriteFile(vectorsPath, out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
