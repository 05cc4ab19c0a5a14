// Package freedom answers how many animals to look at, what a look proves, and
// how well we see.
//
// Begin with a [Lot]: the exact distribution over the number of infested
// animals among those alive. It starts from a [Prior], and every inspection,
// death, split, merge and removal turns it into the next one; from it follow
// the chance of clear, the bag risk and how many more clean animals would do.
// When it is not known how well one sees, a [Belief] carries the same history
// at several sensitivities and gives each figure a band.
//
// Words. A share lies in [0, 1]. An animal is infested when it carries the
// condition asked about, in any stage. A look is random when every animal
// alive was equally likely to be caught; animals go back unless said
// otherwise. Sensitivity is the chance that an infested animal is recorded
// positive, specificity the chance that an animal without the condition is
// recorded clean.
//
// The package is pure: it reads no file, clock or network and keeps no state.
// Bad input is a *ref.InputError, a question without an answer a
// *ref.NoAnswer; nothing panics on what a person typed.
package freedom
