// Package unit reads the quantities that people write ("120 l", "2.5 mg/l",
// "50 %", "1 tablet per 40 l", "30 % every 3 d") and knows what kind of thing
// each is, so that milligrams can never pass for litres.
//
// Values are kept as exact fractions: every factor is the exact one of NIST
// SP 811 and Handbook 44, nothing is rounded before In or Base turns a
// quantity into a float64, and converting there and back gives what was
// written. Units whose size depends on where one lives (gal, cup, tbsp) have no
// bare form: the reader is told to name one.
package unit
