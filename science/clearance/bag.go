package clearance

// BagRisk returns the chance that a bag of m animals, taken without regard to
// what they carry from alive animals of which infested carry something, holds at
// least one that does:
//
//	1 − C(alive − infested, m) / C(alive, m)
//
// A bag of more animals than there are takes them all. No animals, no risk.
func BagRisk(alive, infested, m int) float64 {
	clean := 1.0
	for i := range min(m, alive) {
		clean *= float64(max(0, alive-infested-i)) / float64(alive-i)
	}
	return 1 - clean
}
