// Package e2e has no code of its own: its tests are a person with a browser in
// front of a running desk. They are skipped with -short.
package e2e
