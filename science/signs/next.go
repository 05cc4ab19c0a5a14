package signs

import (
	"cmp"
	"math"
	"slices"
)

// NextLook is a question still open and what its answer is expected to tell.
type NextLook struct {
	Question string `json:"question"`
	Ask      string `json:"ask"`
	Effort   int    `json:"effort"`
	// Bits is the expected fall of the uncertainty over suspects.
	Bits float64 `json:"bits"`
	// Answers says how likely each answer is and who would then lead.
	Answers []Outlook `json:"answers"`
}

// Outlook is one possible answer to a question still open.
type Outlook struct {
	Option string  `json:"option"`
	Say    string  `json:"say"`
	Chance float64 `json:"chance"`
	Leader string  `json:"leader"`
	Share  float64 `json:"share"`
}

// Next returns the looks not yet answered, the most telling first. What an
// answer tells is the expected fall of Shannon's entropy over the suspects,
//
//	I = H(s) - Σ P(o) · H(s | o)   in bits,
//
// never below zero and never above the entropy left. It supposes that signs
// are independent given the suspect, so a question close to one already
// answered is worth less than it says.
//
// It returns an InputError for an unknown question or option.
func (m *Model) Next(a Answers) ([]NextLook, error) {
	ticked, err := m.ticked(a)
	if err != nil {
		return nil, err
	}
	share := m.posterior(ticked)
	looks := []NextLook{}
	for q, question := range m.questions {
		if question.Kind != Look || len(ticked[q]) > 0 {
			continue
		}
		rows := make([][]float64, len(m.ids))
		for s := range rows {
			rows[s] = m.look[s][q]
		}
		looks = append(looks, NextLook{
			Question: question.ID, Ask: question.Ask, Effort: question.Effort,
			Bits:    Gain(share, rows),
			Answers: m.outlook(q, share),
		})
	}
	slices.SortStableFunc(looks, func(x, y NextLook) int { return cmp.Compare(y.Bits, x.Bits) })
	return looks, nil
}

func (m *Model) outlook(q int, share []float64) []Outlook {
	var out []Outlook
	for o, option := range m.questions[q].Options {
		best := Outlook{Option: option.ID, Say: option.Say}
		for s, w := range share {
			joint := w * m.look[s][q][o]
			best.Chance += joint
			if joint > best.Share {
				best.Share, best.Leader = joint, m.ids[s]
			}
		}
		if best.Chance > 0 {
			best.Share /= best.Chance
		}
		out = append(out, best)
	}
	slices.SortStableFunc(out, func(x, y Outlook) int { return cmp.Compare(y.Chance, x.Chance) })
	return out
}

// Gain is the expected information in bits of an observation about which of
// several things is the case. share holds the chances of the things and sums
// to one; rows holds for each thing the chances of the outcomes, each row
// summing to one. The result is the mutual information, at least zero.
//
// Checked against scipy.stats.entropy in testdata/gain.json.
func Gain(share []float64, rows [][]float64) float64 {
	bits := Entropy(share)
	given := make([]float64, len(share))
	for o := range rows[0] {
		chance := 0.
		for s, w := range share {
			given[s] = w * rows[s][o]
			chance += given[s]
		}
		if chance == 0 {
			continue
		}
		for s := range given {
			given[s] /= chance
		}
		bits -= chance * Entropy(given)
	}
	return max(bits, 0)
}

// Entropy is Shannon's entropy of chances that sum to one, in bits.
func Entropy(share []float64) float64 {
	bits := 0.
	for _, p := range share {
		if p > 0 {
			bits -= p * math.Log2(p)
		}
	}
	return bits
}

// overlap is how alike two suspects are: the mean over the looks of
// Bhattacharyya's coefficient Σ √(p·q), 1 for the same signs, 0 for none in
// common.
func (m *Model) overlap(s, t int) float64 {
	sum, n := 0., 0
	for q, question := range m.questions {
		if question.Kind != Look {
			continue
		}
		n++
		for o, p := range m.look[s][q] {
			sum += math.Sqrt(p * m.look[t][q][o])
		}
	}
	return sum / float64(n)
}
