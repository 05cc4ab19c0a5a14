// Package phantom draws macro photographs of shrimp with known truth, to try
// the finders of package photo on. No photograph of a real animal went into it,
// so figures measured on phantoms say how a finder does on pictures of this
// kind and nothing yet about real animals.
//
// NewScene draws everything about an animal and its surroundings from a seed:
// strain (also white-banded and clear ones), pose, pigment, gills, glare, egg
// rows, worms, tufts, and what looks like them: pale pigment in clusters, gill
// lamellae, spots along margins, bubbles, glints on a crumpled shell, grains.
// Shoot photographs the scene: blur that grows with the distance from the plane
// of focus, motion, noise, the camera's own sharpening, JPEG. The same scene
// can be shot again with another focus for bursts and focus stacks.
//
// The truth lists each colony, worm and tuft with its box in pixels, its
// contrast and the blur where it lies. Resolvable is defined on them: see
// Find.Resolvable.
//
// Photographs come in two splits, Tuning and HoldOut, told apart by the seed.
// Whatever is fitted, chosen or looked at while choosing uses Tuning alone.
// HoldOut also draws from wider ranges (Ranges), so that it holds strains,
// sizes and light that Tuning never shows.
//
// Sizes of eggs and worms are those of the published descriptions where there
// are any and guesses where not; docs/SCIENCE.md says which.
package phantom
