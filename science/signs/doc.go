// Package signs goes from what a person sees to what it might be.
//
// A suspect is a condition, a look-alike or a tank pest by its id in the
// reference. A question has options; a person ticks one or, when unsure,
// several ("one of these"). Rank weighs every suspect by Bayes' rule with the
// questions taken as independent given the suspect, Next says which question
// still open is expected to tell most, and Learn lets the shop's own confirmed
// cases move the table.
//
// The table is expert judgement in ordinal words (table.yaml), turned into
// probabilities and capped so that no single answer can change the odds
// between two suspects by more than Cap. The shares that come out order
// suspects; they are not measured frequencies, and because real signs go
// together more than independence allows they are surer than they should be.
// "Something else" takes part in every ranking and wins when nothing fits.
// Nothing here is a diagnosis.
package signs
