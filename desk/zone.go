package desk

import (
	"cmp"
	"slices"

	"holdfast"
)

// Zone says how dangerous a system's water is to others. The round goes from
// the lowest to the highest, so that wet hands, nets and water only ever travel
// towards the worse.
type Zone int

// The zones, cleanest first.
const (
	// Clean: every lot in the water reached the line for everything it can carry.
	Clean Zone = iota
	// Watched: held, nothing found; or never looked at.
	Watched
	// Carrying: signs were found and the line has not been reached since.
	Carrying
	// Standstill: something is suspected that must be reported or has no cure.
	Standstill
)

// String is the zone in words.
func (z Zone) String() string {
	return [...]string{"Clear", "On hold, nothing found", "Carrying a parasite", "Stand still"}[z]
}

// zoneOf returns the zone that a lot puts its water into.
func zoneOf(s holdfast.ShopSet, l holdfast.LotRow) Zone {
	switch {
	case len(l.Suspects) > 0:
		return Standstill
	case len(l.SignOf) > 0 && l.Status != holdfast.Released:
		return Carrying
	case l.Status == holdfast.Released:
		return Clean
	case len(l.Figures) > 0 && allReached(s, l) && len(l.SignOf) == 0:
		return Clean
	}
	return Watched
}

// allReached reports whether each condition the animals can carry was looked
// for and is on the safe side of the line.
func allReached(s holdfast.ShopSet, l holdfast.LotRow) bool {
	for _, c := range Tracked(l.Species) {
		i := slices.IndexFunc(l.Figures, func(f holdfast.Figure) bool { return f.Condition == c.ID })
		if i < 0 || !Reached(s, l.Figures[i]) {
			return false
		}
	}
	return true
}

// sortSystems orders systems by zone, then by where their first tank stands.
func sortSystems(systems []System) {
	slices.SortStableFunc(systems, func(a, b System) int {
		return cmp.Or(cmp.Compare(a.Zone, b.Zone), cmp.Compare(a.Tanks[0].Place, b.Tanks[0].Place), cmp.Compare(a.ID, b.ID))
	})
}
