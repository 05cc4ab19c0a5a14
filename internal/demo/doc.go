// Package demo makes an invented shop with a year of history. Everything is
// entered through the desk's own use cases, day by day, with a clock and a
// chance of its own: the same seed and the same last day give the same shop.
// No shop, person or supplier in it exists.
package demo
