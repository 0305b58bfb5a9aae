package page

// Worked is a number with how it came about. Without lines it is a plain reading. Ref is the number of its working on paper; 0 has none.
type Worked struct {
	Say   string
	Lines []string
	Ref   int
}

// Note is a working as paper has it: numbered, after everything else.
type Note struct {
	N         int
	What, Say string
	Lines     []string
}

// Notes are the workings of one page, in the order its numbers stand.
type Notes []Note

// Of keeps the working of a number; what names it where it stands alone. Where there are no notes, it opens on the screen alone.
func (n *Notes) Of(what, say string, lines []string) Worked {
	if say == "" || len(lines) == 0 {
		return Worked{Say: say}
	}
	if n == nil {
		return Worked{Say: say, Lines: lines}
	}
	*n = append(*n, Note{N: len(*n) + 1, What: what, Say: say, Lines: lines})
	return Worked{Say: say, Lines: lines, Ref: len(*n)}
}
