// Package reference is what the desk knows about animals, parasites,
// look-alikes, pests and medicines: embedded data, every claim with its
// source, in prose of our own.
//
// Start with Conditions, Species and CanCarry, or Builtin for the whole Book.
// Ids are stable: a journal entry that names one can be read for ever. An id
// is never reused and never renamed; one that is no longer wanted is kept and
// marked.
//
// Nothing here is a diagnosis. The texts say what something looks like and
// what else looks like it; a licensed aquatic veterinarian or a laboratory
// says what it is.
package reference
