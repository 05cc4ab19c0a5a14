package photo

import (
	"cmp"
	"hash/fnv"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Verdict is what a person said of one mark.
type Verdict struct {
	// Photo names the photograph or better the animal the mark is of. Verdicts
	// with one name are never split between learning and testing, because marks
	// of one animal are alike.
	Photo string
	// Features are Mark.Features of the mark.
	Features []float64
	// Real is true when the mark was what its kind is for, false when it was
	// anything else. A mark that nobody could tell is no verdict; leave it out.
	Real bool
}

// Refit is what came of learning from verdicts.
type Refit struct {
	// Model is the new last word when Kept, else the one that was in use.
	Model *Logistic
	// Kept tells whether the new one was better on verdicts it had not seen.
	Kept bool
	// Real and Nothing count the verdicts, Photos the names.
	Real, Nothing, Photos int
	// OldLoss and NewLoss are the mean surprise (natural logarithm) at verdicts
	// held out, of the old model with its level and steepness set anew and of the
	// new one; lower is better. OldAUC and NewAUC are the chances that a real mark
	// held out scores higher than one that is nothing.
	OldLoss, NewLoss, OldAUC, NewAUC float64
	// Gain is OldLoss - NewLoss, SE its standard error over the photographs.
	Gain, SE float64
}

// What learning takes. The numbers are choices: with fewer verdicts the held-out
// comparison decides nothing.
const (
	fewestVerdicts = 15 // of each sort
	fewestPhotos   = 10 // with at least one verdict
	refitFolds     = 5
	refitRidge     = 8.0  // how firmly the old weights are held on to
	refitPairRidge = 64.0 // and those of products, of which there are many

	calibrationRidge = 0.02 // the same for the old score's steepness
)

// RefitLogistic learns a new last word from the verdicts of a shop. The weights
// start from those of old and are held to them by a penalty, so that few
// verdicts change little and many decide.
//
// The photographs are dealt into five parts by their names. Each part is scored
// by models learned from the other four: the new one, and the old one with only
// its level and its steepness set anew, so that a shop where more marks are real
// does not count as an improvement. The new model, learned from all, is kept when its mean
// surprise is lower by more than one standard error and it does not order marks
// worse. It is named version.
//
// The counts of false marks that the new model promises (ExpectedFalse) come
// from the held-out verdicts on photos photographs looked at; marks nobody judged
// count as nothing neither way, so judge all that are shown.
//
// It returns a *ref.NoAnswer when there are too few verdicts, and a
// *ref.InputError when they do not fit old. The same verdicts give the same
// answer, in any order.
func RefitLogistic(old *Logistic, verdicts []Verdict, photos int, version string) (*Refit, error) {
	r := &Refit{Model: old}
	verdicts = slices.Clone(verdicts)
	slices.SortStableFunc(verdicts, func(a, b Verdict) int {
		return cmp.Or(cmp.Compare(a.Photo, b.Photo), slices.Compare(a.Features, b.Features), btoi(a.Real)-btoi(b.Real))
	})
	names := map[string]bool{}
	for i, v := range verdicts {
		if len(v.Features) != len(old.Features) {
			return nil, ref.Inputf("verdicts", "Look at the photographs again with this version of the program.",
				"verdict %d has %d features, the model %d", i+1, len(v.Features), len(old.Features))
		}
		names[v.Photo] = true
		if v.Real {
			r.Real++
		} else {
			r.Nothing++
		}
	}
	r.Photos = len(names)
	if r.Real < fewestVerdicts || r.Nothing < fewestVerdicts || r.Photos < fewestPhotos {
		return r, &ref.NoAnswer{Reason: "Too few verdicts to learn from: it takes 15 marks that are real and 15 that are nothing, in 10 photographs."}
	}
	oldScores, newScores, err := holdOutScores(old, verdicts)
	if err != nil {
		return r, err
	}
	r.compare(verdicts, oldScores, newScores)
	if !(r.Gain > r.SE) || r.NewAUC < r.OldAUC {
		return r, nil
	}
	m, err := relearn(old, verdicts, -1, version)
	if err != nil {
		return r, err
	}
	var falses []float64
	for i, v := range verdicts {
		if !v.Real {
			falses = append(falses, newScores[i])
		}
	}
	if m.Tail = TailOf(falses, max(photos, r.Photos)); len(m.Tail) < 2 {
		m.Tail = old.Tail
	}
	r.Model, r.Kept = m, true
	return r, nil
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// partOf deals a photograph into one of refitFolds parts.
func partOf(name string) int {
	h := fnv.New32a()
	_, _ = h.Write([]byte(name))
	return int(h.Sum32() % refitFolds)
}

// relearn fits a copy of old to the verdicts outside a part; -1 leaves none out.
func relearn(old *Logistic, verdicts []Verdict, part int, version string) (*Logistic, error) {
	x, y := outside(verdicts, part)
	m := *old
	m.Version, m.Weight, m.Tail = version, slices.Clone(old.Weight), nil
	if err := m.fit(x, y, nil, refitRidge, refitPairRidge); err != nil {
		return nil, err
	}
	return &m, nil
}

func outside(verdicts []Verdict, part int) (x [][]float64, y []bool) {
	for _, v := range verdicts {
		if part < 0 || partOf(v.Photo) != part {
			x, y = append(x, v.Features), append(y, v.Real)
		}
	}
	return x, y
}

// holdOutScores scores each verdict by models that have not seen its part.
func holdOutScores(old *Logistic, verdicts []Verdict) (olds, news []float64, err error) {
	olds, news = make([]float64, len(verdicts)), make([]float64, len(verdicts))
	for part := range refitFolds {
		m, err := relearn(old, verdicts, part, old.Version)
		if err != nil {
			return nil, nil, err
		}
		x, y := outside(verdicts, part)
		for i, row := range x {
			x[i] = []float64{old.Score(row)}
		}
		again := calibration()
		if err := again.fit(x, y, nil, calibrationRidge, calibrationRidge); err != nil {
			return nil, nil, err
		}
		for i, v := range verdicts {
			if partOf(v.Photo) == part {
				olds[i] = again.Score([]float64{old.Score(v.Features)})
				news[i] = m.Score(v.Features)
			}
		}
	}
	return olds, news, nil
}

// calibration is the model of one feature, an old score, that leaves it as it
// is. Its unit is ten, so that scores up to 40 are not held back.
func calibration() *Logistic {
	return &Logistic{Features: []string{"old score"}, Mean: []float64{0}, SD: []float64{10}, Weight: []float64{10}}
}

// compare fills in how the two sets of held-out scores do. Verdicts are sorted
// by photograph.
func (r *Refit) compare(verdicts []Verdict, olds, news []float64) {
	n := float64(len(verdicts))
	var perPhoto []float64 // summed gain of each photograph
	var pos, neg [2][]float64
	for i, v := range verdicts {
		a, b := surprise(olds[i], v.Real), surprise(news[i], v.Real)
		r.OldLoss += a / n
		r.NewLoss += b / n
		if i == 0 || verdicts[i-1].Photo != v.Photo {
			perPhoto = append(perPhoto, 0)
		}
		perPhoto[len(perPhoto)-1] += a - b
		for k, s := range []float64{olds[i], news[i]} {
			if v.Real {
				pos[k] = append(pos[k], s)
			} else {
				neg[k] = append(neg[k], s)
			}
		}
	}
	r.Gain = r.OldLoss - r.NewLoss
	k := float64(len(perPhoto))
	r.SE = deviation(perPhoto) * math.Sqrt(k*k/max(1, k-1)) / n
	r.OldAUC, r.NewAUC = rankShare(pos[0], neg[0]), rankShare(pos[1], neg[1])
}

// surprise is -ln of the chance that log-odds s gave to what happened.
func surprise(s float64, real bool) float64 {
	if real {
		s = -s
	}
	return max(s, 0) + math.Log1p(math.Exp(-math.Abs(s)))
}

// rankShare is the share of pairs in which the one of a is larger; ties half.
func rankShare(a, b []float64) float64 {
	sum := 0.0
	for _, x := range a {
		for _, y := range b {
			switch {
			case x > y:
				sum++
			case x == y:
				sum += 0.5
			}
		}
	}
	return sum / float64(len(a)*len(b))
}
