// Package acclimate brings animals out of a bag: how long its oxygen lasts,
// what its ammonia does when it is opened, which way out is the fastest safe
// one, and the drip or the cups for it, step by step.
//
// Start with Arrival.Plan; Bag.Oxygen answers for a box that is still on the
// road. Readings that nobody took are nil and are never filled in: what they
// would have told is missing from the plan, and the plan says so.
package acclimate
