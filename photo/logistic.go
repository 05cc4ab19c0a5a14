package photo

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"holdfast/science/ref"
)

// Logistic turns measured features into log-odds:
//
//	score = Bias + sum of Weight[i] * (clamp(x[i]) - Mean[i]) / SD[i]
//
// with each standardised feature held within -4 to 4, so that one odd value
// cannot decide. It is data: a model can be stored, compared, and put back.
type Logistic struct {
	// Version says which fit this is.
	Version string `json:"version"`
	// Features name the inputs in their order.
	Features []string `json:"features"`
	// Mean and SD standardise the features, Weight and Bias combine them.
	Mean   []float64 `json:"mean"`
	SD     []float64 `json:"sd"`
	Weight []float64 `json:"weight"`
	Bias   float64   `json:"bias"`
	// Tail tells how many candidates that are nothing reach a score: pairs of a
	// score and the common logarithm of the expected number of such candidates a
	// photograph, by rising score. Empty when it was not measured.
	Tail [][2]float64 `json:"tail,omitempty"`
}

// featureReach bounds a standardised feature.
const featureReach = 4

// Score returns the log-odds for x, which has one value for each feature; a
// value that is no number counts as the mean.
func (m *Logistic) Score(x []float64) float64 {
	s := m.Bias
	for i, w := range m.Weight {
		s += w * m.standard(i, x[i])
	}
	return s
}

func (m *Logistic) standard(i int, x float64) float64 {
	if math.IsNaN(x) || m.SD[i] == 0 {
		return 0
	}
	return max(-featureReach, min(featureReach, (x-m.Mean[i])/m.SD[i]))
}

// Check returns an error when the model does not fit the features it is to be
// used with, as a stored one may not after the program has changed.
func (m *Logistic) Check(features []string) error {
	const hint = "Fit the model again, or go back to the one that came with the program."
	n := len(features)
	if len(m.Features) != n || len(m.Mean) != n || len(m.SD) != n || len(m.Weight) != n {
		return ref.Inputf("model", hint, "the model %q has %d features, %d are measured", m.Version, len(m.Features), n)
	}
	for i, f := range features {
		if m.Features[i] != f {
			return ref.Inputf("model", hint, "feature %d of the model %q is %q, not %q", i+1, m.Version, m.Features[i], f)
		}
		for _, v := range []float64{m.Mean[i], m.SD[i], m.Weight[i], m.Bias} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return ref.Inputf("model", hint, "the model %q holds a value that is no number", m.Version)
			}
		}
	}
	return nil
}

// ExpectedFalse returns how many candidates that are nothing reach at least
// this score in a photograph, on average: interpolated in Tail on the
// logarithm, continued beyond its ends by the nearest slope. It never rises
// with the score. NaN when the model has no Tail.
func (m *Logistic) ExpectedFalse(score float64) float64 {
	t := m.Tail
	if len(t) < 2 {
		return math.NaN()
	}
	k := 1
	for k < len(t)-1 && score > t[k][0] {
		k++
	}
	a, b := t[k-1], t[k]
	return math.Pow(10, a[1]+(b[1]-a[1])*(score-a[0])/(b[0]-a[0]))
}

// TailOf measures Logistic.Tail from the scores of candidates that are nothing,
// in so many photographs: the score that 10 a photograph reach, 5, 2, 1, 0.5,
// and so on down to where three candidates are left. Beyond, the last slope is
// continued, which for a tail that falls faster than a power errs on the side
// of expecting too many. It sorts scores.
func TailOf(scores []float64, photos int) [][2]float64 {
	slices.SortFunc(scores, func(a, b float64) int { return cmp.Compare(b, a) })
	var tail [][2]float64
	for _, k := range []float64{20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005} {
		n := int(math.Round(k * float64(photos)))
		if n < 3 || n > len(scores) {
			continue
		}
		at := scores[n-1]
		if len(tail) > 0 && at <= tail[len(tail)-1][0] {
			continue
		}
		tail = append(tail, [2]float64{at, math.Log10(k)})
	}
	return tail
}

// FitLogistic fits a model to rows of features and their labels by maximum
// likelihood with a penalty of ridge/2 times the sum of the squared weights of
// the standardised features (not the bias), by Newton's method. weight gives
// each row's weight, nil for 1 each.
//
// It returns a *ref.NoAnswer when all labels are alike, and an *ref.InputError
// when the rows do not fit together. Source: hastie2009, 4.4 and 3.4.
func FitLogistic(features []string, rows [][]float64, labels []bool, weight []float64, ridge float64) (*Logistic, error) {
	n, p := len(rows), len(features)
	if len(labels) != n || weight != nil && len(weight) != n {
		return nil, ref.Inputf("rows", "", "%d rows, %d labels, %d weights", n, len(labels), len(weight))
	}
	if !(ridge > 0) {
		return nil, ref.Inputf("ridge", "Use a positive number such as 1.", "%g is not positive", ridge)
	}
	m := &Logistic{Features: features, Weight: make([]float64, p)}
	if err := m.standardise(rows); err != nil {
		return nil, err
	}
	if err := m.fit(rows, labels, weight, ridge); err != nil {
		return nil, err
	}
	return m, nil
}

// fit improves m, whose Mean, SD and Weight are set, on the rows. The penalty is
// on how far the weights move from those that m has.
func (m *Logistic) fit(rows [][]float64, labels []bool, weight []float64, ridge float64) error {
	n, p := len(rows), len(m.Features)
	positive := 0.0
	total := 0.0
	for i := range rows {
		w := rowWeight(weight, i)
		total += w
		if labels[i] {
			positive += w
		}
	}
	if positive <= 0 || positive >= total {
		return &ref.NoAnswer{Reason: "All examples say the same; nothing can be learned from them."}
	}
	x := mat.NewDense(n, p+1, nil)
	for i, row := range rows {
		x.Set(i, 0, 1)
		for j := range p {
			x.Set(i, j+1, m.standard(j, row[j]))
		}
	}
	prior := mat.NewVecDense(p+1, append([]float64{0}, m.Weight...))
	beta := mat.VecDenseCopyOf(prior)
	beta.SetVec(0, math.Log(positive/(total-positive)))
	loss := penalisedLoss(x, labels, weight, beta, prior, ridge)
	for range 100 {
		step, err := newtonStep(x, labels, weight, beta, prior, ridge)
		if err != nil {
			return err
		}
		// The whole step may overshoot where the likelihood is flat; the loss is
		// convex, so some part of it helps until the minimum is reached.
		next := mat.NewVecDense(p+1, nil)
		better := math.Inf(1)
		for part := 1.0; part > 1e-6; part /= 2 {
			next.AddScaledVec(beta, part, step)
			if better = penalisedLoss(x, labels, weight, next, prior, ridge); better <= loss {
				break
			}
		}
		if !(better <= loss) {
			break
		}
		beta.CopyVec(next)
		if loss-better < 1e-10*(1+loss) {
			break
		}
		loss = better
	}
	m.Bias = beta.AtVec(0)
	for j := range p {
		m.Weight[j] = beta.AtVec(j + 1)
	}
	return nil
}

func rowWeight(weight []float64, i int) float64 {
	if weight == nil {
		return 1
	}
	return weight[i]
}

// standardise sets Mean and SD.
func (m *Logistic) standardise(rows [][]float64) error {
	p := len(m.Features)
	m.Mean, m.SD = make([]float64, p), make([]float64, p)
	for j := range p {
		var n, sum, squares float64
		for i, row := range rows {
			if len(row) != p {
				return ref.Inputf("rows", "", "row %d has %d values, not %d", i+1, len(row), p)
			}
			if v := row[j]; !math.IsNaN(v) && !math.IsInf(v, 0) {
				n, sum, squares = n+1, sum+v, squares+v*v
			}
		}
		if n > 0 {
			m.Mean[j] = sum / n
			m.SD[j] = math.Sqrt(max(0, squares/n-m.Mean[j]*m.Mean[j]))
		}
		if m.SD[j] < 1e-12 {
			m.SD[j] = 0 // says nothing
		}
	}
	return nil
}

// penalisedLoss is the negative log-likelihood with the penalty.
func penalisedLoss(x *mat.Dense, labels []bool, weight []float64, beta, prior *mat.VecDense, ridge float64) float64 {
	n, p := x.Dims()
	loss := 0.0
	for i := range n {
		z := mat.Dot(x.RowView(i), beta)
		if labels[i] {
			z = -z
		}
		// log(1 + exp(z)) without overflow.
		loss += rowWeight(weight, i) * (max(z, 0) + math.Log1p(math.Exp(-math.Abs(z))))
	}
	for j := 1; j < p; j++ {
		d := beta.AtVec(j) - prior.AtVec(j)
		loss += ridge / 2 * d * d
	}
	return loss
}

// newtonStep solves (X'WX + R) step = X'(y - p) - R (beta - prior).
func newtonStep(x *mat.Dense, labels []bool, weight []float64, beta, prior *mat.VecDense, ridge float64) (*mat.VecDense, error) {
	n, p := x.Dims()
	hess := mat.NewSymDense(p, nil)
	grad := mat.NewVecDense(p, nil)
	for i := range n {
		row := x.RawRowView(i)
		z := 0.0
		for j, v := range row {
			z += v * beta.AtVec(j)
		}
		q := 1 / (1 + math.Exp(-z))
		y := 0.0
		if labels[i] {
			y = 1
		}
		w := rowWeight(weight, i)
		for j, v := range row {
			grad.SetVec(j, grad.AtVec(j)+w*(y-q)*v)
			for k := j; k < p; k++ {
				hess.SetSym(j, k, hess.At(j, k)+w*q*(1-q)*v*row[k])
			}
		}
	}
	for j := 1; j < p; j++ {
		hess.SetSym(j, j, hess.At(j, j)+ridge)
		grad.SetVec(j, grad.AtVec(j)-ridge*(beta.AtVec(j)-prior.AtVec(j)))
	}
	hess.SetSym(0, 0, hess.At(0, 0)+1e-9)
	var chol mat.Cholesky
	if !chol.Factorize(hess) {
		return nil, &ref.NoAnswer{Reason: "The examples do not determine a fit."}
	}
	var step mat.VecDense
	if err := chol.SolveVecTo(&step, grad); err != nil {
		return nil, &ref.NoAnswer{Reason: "The examples do not determine a fit."}
	}
	return &step, nil
}
