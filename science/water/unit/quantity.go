package unit

import (
	"fmt"
	"math/big"

	"holdfast/science/ref"
)

// Quantity is one exact amount and what kind of thing it is. The zero value is
// a bare number of 0.
type Quantity struct {
	base *big.Rat // in the products of table's base units
	kind Kind
}

// Kind returns what q is.
func (q Quantity) Kind() Kind { return q.kind }

// Sign returns -1, 0 or 1; for a temperature it is the sign of its kelvins.
func (q Quantity) Sign() int {
	if q.base == nil {
		return 0
	}
	return q.base.Sign()
}

// Exact returns q in the named unit as an exact fraction. The unit is written
// as in Parse ("gal_us", "g/l", "1" for a share). The error names a unit that
// is not of q's kind.
func (q Quantity) Exact(name string) (*big.Rat, error) {
	s, err := parseUnit("unit", name)
	if err != nil {
		return nil, err
	}
	k, known := kindOf(s.dims)
	if q.kind == Number || !known || k != q.kind {
		return nil, ref.Inputf("unit", fmt.Sprintf("A %s is written like %s.", q.kind, q.kind.Examples()), "%s does not measure a %s", name, q.kind)
	}
	r := new(big.Rat)
	if q.base != nil {
		r.Set(q.base)
	}
	if s.zero != nil {
		r.Sub(r, s.zero)
	}
	return r.Quo(r, s.factor), nil
}

// In returns q in the named unit, correctly rounded. See Exact.
func (q Quantity) In(name string) (float64, error) {
	r, err := q.Exact(name)
	if err != nil {
		return 0, err
	}
	f, _ := r.Float64()
	return f, nil
}

// Base returns q in the unit that its kind is counted in everywhere inside the
// program (see Kind.Base): litres, grams, mg/l, days, degrees Celsius,
// centimetres, ml/min, µS/cm, meq/l, kPa; a share as 0 to 1, a bare number as
// it stands.
func (q Quantity) Base() float64 {
	if q.kind == Number || q.kind == "" {
		if q.base == nil {
			return 0
		}
		f, _ := q.base.Float64()
		return f
	}
	f, err := q.In(q.kind.Base())
	if err != nil {
		panic("unit: kind without a base: " + string(q.kind)) // the table is wrong, not the user
	}
	return f
}
