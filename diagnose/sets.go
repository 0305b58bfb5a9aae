package diagnose

// sets lists every set of at most k of n causes: the empty one first, then by size, each size in rising order. So sets
// 1..n are the single causes in catalogue order, and every set comes after the one it grows from.
type sets struct {
	count   int
	start   []int32 // count+1 offsets into members
	members []int32
	parent  []int32 // the set without its last member
	last    []int32 // the last member; -1 for the empty set
	linked  []bool  // a member drives another one
	first   []int32 // what would be done first: a plan, or the number of plans for nothing
}

// maxSets bounds the memory of an engine: every state keeps one number per set.
const maxSets = 1 << 18

func newSets(n, k int) (*sets, error) {
	s := &sets{count: 1, start: []int32{0, 0}, parent: []int32{0}, last: []int32{-1}}
	from := 0
	for size := 1; size <= k && size <= n; size++ {
		to := s.count
		for i := from; i < to; i++ {
			for c := int(s.last[i]) + 1; c < n; c++ {
				if s.count == maxSets {
					return nil, bundleError("%d causes in sets of up to %d are more than %d sets", n, k, maxSets)
				}
				s.grow(i, c)
			}
		}
		from = to
	}
	return s, nil
}

func (s *sets) grow(parent, cause int) {
	s.members = append(s.members, s.of(parent)...)
	s.members = append(s.members, int32(cause))
	s.start = append(s.start, int32(len(s.members)))
	s.parent = append(s.parent, int32(parent))
	s.last = append(s.last, int32(cause))
	s.count++
}

// of returns the causes of set i in rising order.
func (s *sets) of(i int) []int32 { return s.members[s.start[i]:s.start[i+1]] }

// link marks the sets in which a member drives another one.
func (s *sets) link(links []link) {
	drives := map[[2]int32]bool{}
	for _, l := range links {
		drives[[2]int32{int32(l.parent), int32(l.child)}] = true
	}
	s.linked = make([]bool, s.count)
	for i := 1; i < s.count; i++ {
		s.linked[i] = s.linked[s.parent[i]]
		for _, c := range s.of(i) {
			if drives[[2]int32{c, s.last[i]}] || drives[[2]int32{s.last[i], c}] {
				s.linked[i] = true
			}
		}
	}
}
