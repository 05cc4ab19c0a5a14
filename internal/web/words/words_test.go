package words_test

import (
	"math"
	"testing"

	"holdfast/internal/web/words"
)

const gap = "\u00a0"

func TestPercentNeverClaimsCertainty(t *testing.T) {
	for p, want := range map[float64]string{
		0: "0" + gap + "%", 0.0004: "under 0.1" + gap + "%", 0.004: "0.4" + gap + "%", 0.02: "2" + gap + "%", 0.274: "27" + gap + "%",
		0.946: "94.6" + gap + "%", 0.95: "95" + gap + "%", 0.9497: "94.9" + gap + "%", 0.999: "99.9" + gap + "%", 0.9999: "over 99.9" + gap + "%", 1: "100" + gap + "%",
		-0.1: "–", 1.1: "–",
	} {
		if got := words.Percent(p); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
	if words.Percent(math.NaN()) != "–" {
		t.Error("not a number has a per cent")
	}
	if got := words.PercentRange(0.24, 0.31); got != "24 to 31"+gap+"%" {
		t.Errorf("range: %q", got)
	}
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{words.Int(0), "0"}, {words.Int(999), "999"}, {words.Int(1234567), "1" + gap + "234" + gap + "567"}, {words.Int(-1000), "-1" + gap + "000"},
		{words.Number(7.40, 2), "7.4"}, {words.Number(-0.001, 2), "0"}, {words.Number(-3, 0), "\u22123"}, {words.Number(math.Inf(1), 2), "–"},
		{words.Measure(54, 0, "L"), "54" + gap + "L"},
		{words.Money(231, "EUR"), "€2.31"}, {words.Money(-5, "EUR"), "\u2212€0.05"}, {words.Money(100000, "CHF"), "1" + gap + "000.00" + gap + "CHF"},
		// ISO 4217: the yen has no minor unit, the Kuwaiti dinar one of a thousandth
		{words.Money(1234, "JPY"), "1" + gap + "234" + gap + "JPY"}, {words.Money(1234, "KWD"), "1.234" + gap + "KWD"}, {words.Money(-7, "KWD"), "\u22120.007" + gap + "KWD"},
		{words.Plural(1, "animal", "animals"), "1 animal"}, {words.Plural(3, "animal", "animals"), "3 animals"},
		{words.OfHundred(0.34), "34"}, {words.OfHundred(0.001), "under 1"}, {words.OfHundred(0), "0"}, {words.OfHundred(0.999), "over 99"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
