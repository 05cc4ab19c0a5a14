package money

import (
	"maps"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The exponents are those of ISO 4217 list one, published 2024-06-25.
func TestExponent(t *testing.T) {
	for code, want := range map[string]int{
		"EUR": 2, "USD": 2, "GBP": 2, "PLN": 2, "CNY": 2, "TWD": 2, "IDR": 2, "HUF": 2,
		"JPY": 0, "KRW": 0, "VND": 0, "CLP": 0, "ISK": 0,
		"KWD": 3, "BHD": 3, "TND": 3, "OMR": 3, "IQD": 3,
		"UYW": 4,
	} {
		if got, ok := Exponent(code); !ok || got != want {
			t.Errorf("Exponent(%s) = %d, %t; want %d", code, got, ok, want)
		}
	}
	for _, code := range []string{"", "eur", "XXX", "XAU", "EURO", "code"} {
		if _, ok := Exponent(code); ok {
			t.Errorf("Exponent(%q) is listed", code)
		}
	}
	if n := len(exponents()); n < 150 {
		t.Errorf("only %d currencies read", n)
	}
}

func TestUnits(t *testing.T) {
	for code, want := range map[string]int64{"EUR": 100, "JPY": 1, "KWD": 1000, "ABC": 100} {
		if got := Units(code); got != want {
			t.Errorf("Units(%s) = %d, want %d", code, got, want)
		}
	}
}

func TestDecimal(t *testing.T) {
	for _, c := range []struct {
		minor int64
		code  string
		want  string
	}{
		{1234, "EUR", "12.34"}, {5, "EUR", "0.05"}, {0, "EUR", "0.00"}, {-5, "EUR", "-0.05"},
		{1234, "JPY", "1234"}, {-7, "JPY", "-7"}, {1234, "KWD", "1.234"}, {1, "KWD", "0.001"},
		{-9223372036854775808, "EUR", "-92233720368547758.08"},
	} {
		got, err := Decimal(c.minor, c.code)
		if err != nil || got != c.want {
			t.Errorf("Decimal(%d, %s) = %q, %v; want %q", c.minor, c.code, got, err, c.want)
		}
	}
	if _, err := Decimal(1, "ABC"); err == nil {
		t.Error("an unlisted currency was written")
	}
}

func TestRound(t *testing.T) {
	for _, c := range []struct {
		amount string
		code   string
		want   int64
		exact  bool
	}{
		{"0.45", "EUR", 45, true}, {"0.125", "USD", 13, false}, {"-0.125", "USD", -13, false},
		{"0.124", "USD", 12, false}, {"1.234", "KWD", 1234, true}, {"12.5", "JPY", 13, false}, {"0", "EUR", 0, true},
	} {
		amount, _ := new(big.Rat).SetString(c.amount)
		got, exact, err := Round(amount, c.code)
		if err != nil || got != c.want || exact != c.exact {
			t.Errorf("Round(%s, %s) = %d, %t, %v", c.amount, c.code, got, exact, err)
		}
	}
	huge, _ := new(big.Rat).SetString("1e30")
	if _, _, err := Round(huge, "EUR"); err == nil {
		t.Error("1e30 fitted into 64 bits")
	}
}

func TestRoundUndoesDecimal(t *testing.T) {
	codes := slices.Sorted(maps.Keys(exponents()))
	rapid.Check(t, func(t *rapid.T) {
		minor, code := rapid.Int64().Draw(t, "minor"), rapid.SampledFrom(codes).Draw(t, "code")
		text, err := Decimal(minor, code)
		if err != nil {
			t.Fatal(err)
		}
		amount, ok := new(big.Rat).SetString(text)
		if !ok {
			t.Fatalf("%q is not a number", text)
		}
		got, exact, err := Round(amount, code)
		if got != minor || !exact || err != nil {
			t.Fatalf("%d became %q became %d (%t, %v)", minor, text, got, exact, err)
		}
	})
}
