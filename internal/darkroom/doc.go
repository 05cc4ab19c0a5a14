// Package darkroom makes what follows from photographs: smaller pictures that
// every browser shows, enlargements with local contrast raised, and readings.
// The originals are never touched; everything made here lies in a folder of its
// own, may be deleted at any time, and is made again when asked for.
package darkroom
