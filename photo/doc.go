// Package photo reads macro photographs of shrimp: pixels in, measures out.
//
// A person judges every photograph; this package only finds the sharp ones and
// says where to look. Analyse is where to begin: it takes one decoded picture
// with its scale and returns how sharp it is, where the eye is, and the marks,
// most suspicious first. Sort groups the pictures of a folder into bursts and
// picks the best of each. Fuse joins the slices of a focus stack.
//
// All positions handed out are in pixels of the file as stored, whatever its
// orientation tag says, with (0, 0) at the top-left corner of the first pixel.
// Inside, pictures are reduced to a working scale of WorkingScale pixels a
// millimetre, because the dots looked for have a size in millimetres.
//
// What a mark is worth was measured on drawn pictures only (package phantom);
// docs/SCIENCE.md has the figures. No mark never means clean.
//
// The package does no input or output, reads no clock and keeps no state; a
// native JPEG decoder comes in through the JPEGScaler interface.
package photo
