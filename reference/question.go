package reference

import "strings"

// Question is one thing to ask the seller before buying.
type Question struct {
	ID  string  `yaml:"id" json:"id"`
	Ask string  `yaml:"ask" json:"ask"`
	Why []Claim `yaml:"why" json:"why"`
	// Answers are the usual ones. A question without any is answered in words.
	Answers []Answer `yaml:"answers" json:"answers,omitempty"`
	// Trust is how far a seller's word on it is to be believed: "check" means
	// that it can be checked on arrival, "likely", "doubtful".
	Trust string `yaml:"trust" json:"trust"`
	// Setting is the question of science/signs whose starting chances the
	// answer moves, or empty.
	Setting string `yaml:"setting" json:"setting,omitempty"`
}

// Answer is one usual answer.
type Answer struct {
	ID  string `yaml:"id" json:"id"`
	Say string `yaml:"say" json:"say"`
}

// Said is what was answered to the question, out of the usual answers and the
// own words by question; empty if nothing was.
func (q Question) Said(answers, words map[string]string) string {
	var said []string
	for _, a := range q.Answers {
		if answers[q.ID] == a.ID {
			said = append(said, a.Say)
		}
	}
	if w := words[q.ID]; w != "" {
		said = append(said, w)
	}
	return strings.Join(said, "; ")
}

// Questions returns what to ask the seller, in the order of asking.
func (b *Book) Questions() []Question { return append([]Question(nil), b.questions...) }
