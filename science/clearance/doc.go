// Package clearance answers: how likely is this lot free of the parasite on a
// given day, given what was done to it and what was seen?
//
// Every host, worm, egg, larva and shed skin is followed in continuous time
// ("runs"). Runs are weighted by how well they predict the looks. Begin with
// Evidence, which takes a Case and returns the chance of clear and the bag risk
// for each asked day; Search compares courses of treatment.
//
// Three promises hold everything together:
//
//   - Chance is keyed. A run has a 64-bit key, every entity a key derived from
//     its parent's, every decision a numbered stream of its entity's key. The
//     answer depends on the seed alone, never on the order of work or the number
//     of cores, and two plans are compared on the same draws.
//   - Time is continuous. Nothing advances in steps: with steps of an eighth of
//     a day the race between hatching and the daily pull comes out wrong by .04
//     to .09 in the chance of clear.
//   - There is no crowding: worms do not affect each other. Therefore entities
//     can be followed in any order, and expected counts obey a linear equation
//     that the tests check against.
//
// Units: days (day 0 is arrival), litres, degrees Celsius, worms. Shares and
// chances are 0 to 1. Durations of the figures are days at 24 °C.
package clearance
