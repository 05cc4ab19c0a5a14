// Package money writes and checks amounts held in integer minor units (cents,
// sen, fils) with an ISO 4217 currency code. It converts nothing between
// currencies and rounds only where a function's name says so.
package money

import (
	_ "embed"
	"fmt"
	"math"
	"math/big"
	"strings"
	"sync"
)

// iso4217 is ISO 4217 list one as published on 2024-06-25 by its maintenance
// agency: code, number of decimals of the minor unit, name. Funds and entries
// without a minor unit (gold, test codes) are left out.
//
//go:embed iso4217.csv
var iso4217 string

var exponents = sync.OnceValue(func() map[string]int {
	m := map[string]int{}
	for i, line := range strings.Split(strings.TrimSpace(iso4217), "\n") {
		f := strings.Split(line, ",")
		if i == 0 || len(f) < 2 || len(f[1]) != 1 {
			continue
		}
		m[f[0]] = int(f[1][0] - '0')
	}
	return m
})

// Exponent returns how many decimals the minor unit of the currency has: 2 for
// EUR, 0 for JPY, 3 for KWD. The code is three capital letters; ok is false
// for a code that ISO 4217 does not list.
func Exponent(code string) (exponent int, ok bool) {
	exponent, ok = exponents()[code]
	return exponent, ok
}

// Units returns how many minor units make one of the currency: 100 for EUR, 1
// for JPY, 1000 for KWD. A code that ISO 4217 does not list is taken for a
// currency of hundredths.
func Units(code string) int64 {
	e, ok := Exponent(code)
	if !ok {
		e = 2
	}
	n := int64(1)
	for range e {
		n *= 10
	}
	return n
}

// Decimal writes minor units as a plain decimal number with a point and
// without the currency: 1234 of EUR is "12.34", of JPY "1234", of KWD "1.234".
// It returns an error for an unlisted currency.
func Decimal(minor int64, code string) (string, error) {
	e, ok := Exponent(code)
	if !ok {
		return "", fmt.Errorf("%q is not a currency of ISO 4217", code)
	}
	sign := ""
	digits := fmt.Sprint(minor)
	if minor < 0 {
		sign, digits = "-", digits[1:]
	}
	if e == 0 {
		return sign + digits, nil
	}
	if len(digits) <= e {
		digits = strings.Repeat("0", e-len(digits)+1) + digits
	}
	return sign + digits[:len(digits)-e] + "." + digits[len(digits)-e:], nil
}

// Round converts an amount in whole currency units to minor units, half away
// from zero; exact is false when digits were lost. It returns an error for an
// unlisted currency and for an amount beyond 64 bits.
func Round(amount *big.Rat, code string) (minor int64, exact bool, err error) {
	e, ok := Exponent(code)
	if !ok {
		return 0, false, fmt.Errorf("%q is not a currency of ISO 4217", code)
	}
	scaled := new(big.Rat).Mul(amount, new(big.Rat).SetFloat64(math.Pow10(e)))
	if scaled.IsInt() {
		exact = true
	}
	// Twice the numerator plus the denominator over twice the denominator,
	// truncated, is rounding half up; the sign is put back afterwards.
	num := new(big.Int).Abs(scaled.Num())
	num.Lsh(num, 1).Add(num, scaled.Denom())
	q := num.Quo(num, new(big.Int).Lsh(scaled.Denom(), 1))
	if scaled.Sign() < 0 {
		q.Neg(q)
	}
	if !q.IsInt64() {
		return 0, false, fmt.Errorf("the amount is too large")
	}
	return q.Int64(), exact, nil
}
