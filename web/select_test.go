package web

import (
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// every returns the elements with this tag ("" any) whose attributes hold every name=value pair; "class" matches one of
// the classes.
func every(n *html.Node, tag string, attrs ...string) []*html.Node {
	var out []*html.Node
	for d := range n.Descendants() {
		if d.Type == html.ElementNode && (tag == "" || d.Data == tag) && fits(d, attrs) {
			out = append(out, d)
		}
	}
	return out
}

func fits(n *html.Node, attrs []string) bool {
	for _, a := range attrs {
		name, value, given := strings.Cut(a, "=")
		got, there := attr(n, name)
		switch {
		case !there:
			return false
		case name == "class" && !slices.Contains(strings.Fields(got), value):
			return false
		case name != "class" && given && got != value:
			return false
		}
	}
	return true
}

// first is the first of every, or an empty element.
func first(n *html.Node, tag string, attrs ...string) *html.Node {
	if all := every(n, tag, attrs...); len(all) > 0 {
		return all[0]
	}
	return &html.Node{}
}

func attr(n *html.Node, name string) (string, bool) {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val, true
		}
	}
	return "", false
}

func value(n *html.Node, name string) string {
	v, _ := attr(n, name)
	return v
}

// textOf is the text a person reads, with single blanks.
func textOf(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode && d.Parent.Data != "script" && d.Parent.Data != "style" {
			b.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
