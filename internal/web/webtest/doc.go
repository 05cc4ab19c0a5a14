// Package webtest helps to test pages: a real Chromium that does what a person
// does, looks at the page at both sizes in light and dark, runs axe-core on
// it, and complains about sideways scrolling and refused resources; and a
// parsed document for checks on elements where no browser is needed.
//
// Browser tests are skipped with -short. Chromium is found on the PATH or by
// HOLDFAST_CHROMIUM; where it is missing the test fails and says how to get it.
package webtest
