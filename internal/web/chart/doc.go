// Package chart draws the desk's pictures as SVG: the evidence line of a lot,
// the chance strip of a list, the round's walk, glass and water. It is pure:
// plain structs in, markup out, the same bytes for the same input.
//
// Hues, line weights and type come from the stylesheet by class, so that one
// drawing serves light, dark, print and forced colours; nothing is written
// into style attributes. Sizes are in CSS pixels of the drawing's own box.
//
// Grammar: solid is past, dashed is forecast, dotted in the one hue is "if
// signs are seen". A look is a ring sized by animals, a positive one a
// diamond. A bath is a bar, a moult pull a tick, a death a stem. Chance runs
// on a log-odds scale labelled in words, because decisions happen near its top.
package chart
