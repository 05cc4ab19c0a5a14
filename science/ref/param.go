package ref

// Basis says what kind of knowledge stands behind a figure, best first.
type Basis string

const (
	// Seen: measured on this species, in a source that was read.
	Seen Basis = "seen"
	// Relative: measured on a relative.
	Relative Basis = "relative"
	// Practice: what keepers and traders commonly do or report.
	Practice Basis = "practice"
	// Guess: expert judgement without data.
	Guess Basis = "guess"
	// Own: learned from the shop's own lots.
	Own Basis = "own"
)

// Param is a figure that never travels without its range, unit and origin.
type Param struct {
	// Value is the central figure, in Unit.
	Value float64
	// Low and High bound a 90 % interval for what the figure may be.
	Low, High float64
	// Unit is an SI unit, a litre-based one, "share" (0 to 1) or "count".
	Unit string
	// Basis is the kind of knowledge behind the figure.
	Basis Basis
	// Source is a key of Sources, or empty when Basis is Practice or Guess.
	Source string
	// Note says in one sentence what is meant and what is unsure.
	Note string
}
