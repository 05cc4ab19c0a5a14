package store

import (
	"cmp"
	"maps"
	"slices"

	"holdfast"
)

// union returns a with what of b is not in it.
func union(a, b []holdfast.Subject) []holdfast.Subject {
	for _, s := range b {
		if !slices.Contains(a, s) {
			a = append(a, s)
		}
	}
	return a
}

func compareSubjects(a, b holdfast.Subject) int {
	return cmp.Or(cmp.Compare(a.Type, b.Type), cmp.Compare(a.ID, b.ID))
}

// sorted returns the keys in a fixed order.
func sorted[V any](m map[holdfast.Subject]V) []holdfast.Subject {
	return slices.SortedFunc(maps.Keys(m), compareSubjects)
}
