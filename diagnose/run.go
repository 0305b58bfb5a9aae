package diagnose

import (
	"encoding/json"
	"io"
)

// Output writes answers as a JSON array, one answer to a line, in order. Each has at least "id", "causes" (with "id",
// "likelihood", "role", "for", "against"), "nothing_wrong", "next" and "verdict".
func Output(w io.Writer, answers []Answer) error {
	sep := "[\n"
	for i := range answers {
		line, err := json.Marshal(&answers[i])
		if err != nil {
			return err
		}
		if _, err := w.Write(append([]byte(sep), line...)); err != nil {
			return err
		}
		sep = ",\n"
	}
	end := "\n]\n"
	if len(answers) == 0 {
		end = "[]\n"
	}
	_, err := io.WriteString(w, end)
	return err
}

// Run reads cases from r, weighs each and writes the answers to w; the first case that can't be weighed ends it, before
// anything is written.
func Run(e *Engine, r io.Reader, w io.Writer) error {
	cases, err := ReadCases(r)
	if err != nil {
		return err
	}
	answers := make([]Answer, 0, len(cases))
	for _, c := range cases {
		a, err := e.Diagnose(c)
		if err != nil {
			return err
		}
		answers = append(answers, a)
	}
	return Output(w, answers)
}
