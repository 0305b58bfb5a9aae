// Command vulnfilter reads govulncheck's JSON and lists each known fault that our code really calls. Those of the standard
// library are mended by building with a newer Go and only named; one in any other module is an error.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
)

type message struct {
	Finding *struct {
		OSV   string `json:"osv"`
		Trace []struct {
			Module   string `json:"module"`
			Function string `json:"function"`
		} `json:"trace"`
	} `json:"finding"`
}

func main() {
	ours, err := list(os.Stdin, os.Stdout)
	if err != nil {
		fmt.Println("unreadable report:", err)
		os.Exit(1)
	}
	if ours > 0 {
		fmt.Println("known faults outside the standard library:", ours)
		os.Exit(1)
	}
	fmt.Println("no known fault that we call outside the standard library")
}

// list prints each called fault once and counts those outside the standard library.
func list(r io.Reader, w io.Writer) (ours int, err error) {
	seen := map[string]bool{}
	for dec := json.NewDecoder(r); ; {
		var m message
		if err := dec.Decode(&m); errors.Is(err, io.EOF) {
			return ours, nil
		} else if err != nil {
			return ours, err
		}
		f := m.Finding
		if f == nil || len(f.Trace) == 0 || f.Trace[0].Function == "" {
			continue
		}
		line := f.OSV + " in " + f.Trace[0].Module
		if seen[line] {
			continue
		}
		seen[line] = true
		fmt.Fprintln(w, line)
		if f.Trace[0].Module != "stdlib" {
			ours++
		}
	}
}
