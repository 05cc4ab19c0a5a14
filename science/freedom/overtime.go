package freedom

import "holdfast/science/ref"

// Freedom over time, for a lot taken as a whole: how the chance of clear
// decays with the chance of new introduction and rises with clean looks. The
// exact distribution ([Lot]) contains this; these short forms plan a routine.

// Discount returns the chance of clear after a period in which the condition
// came in anew with chance introduction, before any look: f (1-i).
// Source: martin2007
func Discount(clear, introduction float64) (float64, error) {
	if err := checkShare("clear", clear); err != nil {
		return 0, err
	}
	if err := checkShare("introduction", introduction); err != nil {
		return 0, err
	}
	return clear * (1 - introduction), nil
}

// AfterCleanLook returns the chance of clear after a look that found nothing
// and would have found an infested lot with chance lotSensitivity:
//
//	f' = f / (1 - s (1-f))
//
// lotSensitivity 0 leaves it as it was. f = 0 with s = 1 is a contradiction
// and has no answer.
// Source: martin2007
func AfterCleanLook(clear, lotSensitivity float64) (float64, error) {
	if err := checkShare("clear", clear); err != nil {
		return 0, err
	}
	if err := checkShare("lot-sensitivity", lotSensitivity); err != nil {
		return 0, err
	}
	miss := clear + (1-clear)*(1-lotSensitivity)
	if miss == 0 {
		return 0, contradiction()
	}
	return clear / miss, nil
}

// NeededSensitivity returns the lot sensitivity that one clean look must have
// to raise the chance of clear to target: (1 - f/T) / (1 - f), or 0 when it is
// there already. target lies in (0, 1).
// Source: martin2007
func NeededSensitivity(clear, target float64) (float64, error) {
	if err := checkShare("clear", clear); err != nil {
		return 0, err
	}
	if err := checkOpenShare("target", target); err != nil {
		return 0, err
	}
	if clear >= target {
		return 0, nil
	}
	return (1 - clear/target) / (1 - clear), nil
}

// Equilibrium returns where a routine of equal clean looks settles: the chance
// of clear just before each look, 1 - i/s, and just after, (1 - i/s)/(1 - i).
// There is none unless the look outdoes the introductions, s > i: then the
// chance only falls.
// Source: martin2007
func Equilibrium(lotSensitivity, introduction float64) (before, after float64, err error) {
	if err := checkShare("lot-sensitivity", lotSensitivity); err != nil {
		return 0, 0, err
	}
	if err := checkShare("introduction", introduction); err != nil {
		return 0, 0, err
	}
	if lotSensitivity <= introduction {
		return 0, 0, &ref.NoAnswer{Reason: "Looks that find an infested lot no more often than it is infested anew never catch up: the chance of clear falls towards nothing."}
	}
	before = 1 - introduction/lotSensitivity
	return before, before / (1 - introduction), nil
}
