// Package drawing holds the drawings of the reference: line art of our own,
// drawn in code, to scale, in the colours of the page they stand on.
//
// All lengths inside are in the units of the whole animal, 20 to a millimetre;
// a scene looks at a window of it. A drawing uses currentColor and the page's
// variables --mark (the thing to look at) and --sheet (the ground) only, so
// that it works light and dark; it has a title and a description and no style
// attribute, so that a strict content policy lets it pass.
package drawing
