// Package water holds the arithmetic of a tank room: how many litres there
// really are, what the ammonia in a bag does when the bag is opened, how much
// oxygen water can hold, how heavy salt water is, what two waters make when
// they meet.
//
// Everything here is pure: no clock, no file but embedded tables, no chance.
// Inside, volumes are litres, masses grams or milligrams, temperatures degrees
// Celsius, shares 0 to 1; people's units are read by package unit. Wrong input
// is a *ref.InputError that names the field as the person meets it, and a
// question without an answer is a *ref.NoAnswer.
//
// Its neighbours build on it: unit reads quantities, dose weighs medicines and
// salt, acclimate brings animals out of a bag.
package water
