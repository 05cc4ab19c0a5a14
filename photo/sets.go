package photo

import "slices"

// sets are disjoint sets of the numbers from 0; each is named by its smallest
// member, and i's own entry leads there.
type sets []int

// singles returns n sets of one number each.
func singles(n int) sets {
	s := make(sets, n)
	for i := range s {
		s[i] = i
	}
	return s
}

// of names the set that i is in.
func (s sets) of(i int) int {
	for s[i] != i {
		i = s[i]
	}
	return i
}

// groups returns the members of every set in rising order, the sets in the
// order of their names.
func (s sets) groups() [][]int {
	members := make([][]int, len(s))
	for i := range s {
		name := s.of(i)
		members[name] = append(members[name], i)
	}
	return slices.DeleteFunc(members, func(m []int) bool { return m == nil })
}

// join makes one of two sets and returns its name and the one that is gone.
func (s sets) join(a, b int) (name, gone int) {
	name, gone = min(a, b), max(a, b)
	s[gone] = name
	return name, gone
}
