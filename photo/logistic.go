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
//	z[i]  = (x[i] - Mean[i]) / SD[i], held within -4 to 4
//	score = Bias + sum of Weight[i] * z[i]
//
// so that one odd value cannot decide. The features may be followed by products
// of two of them, z[a] * z[b], standardised and held likewise, each with its own
// Mean, SD and Weight: a bright spot tells more on quiet ground than on rough.
// It is data: a model can be stored, compared, and put back.
type Logistic struct {
	// Version says which fit this is.
	Version string `json:"version"`
	// Features name the inputs in their order.
	Features []string `json:"features"`
	// Pairs are the products, each of two features by their number.
	Pairs [][2]int `json:"pairs,omitempty"`
	// Mean and SD standardise the features and then the products, Weight and Bias
	// combine them.
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
	for i, z := range m.terms(x) {
		s += m.Weight[i] * z
	}
	return s
}

// terms returns the standardised features and products.
func (m *Logistic) terms(x []float64) []float64 {
	n := len(m.Features)
	z := make([]float64, n, n+len(m.Pairs))
	for i := range z {
		z[i] = m.standard(i, x[i])
	}
	for k, p := range m.Pairs {
		z = append(z, m.standard(n+k, z[p[0]]*z[p[1]]))
	}
	return z
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
	n, all := len(features), len(features)+len(m.Pairs)
	if len(m.Features) != n || len(m.Mean) != all || len(m.SD) != all || len(m.Weight) != all {
		return ref.Inputf("model", hint, "the model %q has %d features, %d are measured", m.Version, len(m.Features), n)
	}
	for i, f := range features {
		if m.Features[i] != f {
			return ref.Inputf("model", hint, "feature %d of the model %q is %q, not %q", i+1, m.Version, m.Features[i], f)
		}
	}
	for _, p := range m.Pairs {
		if min(p[0], p[1]) < 0 || max(p[0], p[1]) >= n {
			return ref.Inputf("model", hint, "the model %q multiplies features that it does not have", m.Version)
		}
	}
	for _, v := range slices.Concat(m.Mean, m.SD, m.Weight, []float64{m.Bias}) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return ref.Inputf("model", hint, "the model %q holds a value that is no number", m.Version)
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
// what is standardised (not the bias), by Newton's method. weight gives each
// row's weight, nil for 1 each.
//
// products is how many products of two features (or of one with itself) to take
// in. They are chosen ten at a time by the score test: those along which the
// likelihood of the model so far rises most steeply for their information.
//
// It returns a *ref.NoAnswer when all labels are alike, and an *ref.InputError
// when the rows do not fit together. Source: hastie2009, 4.4 and 3.4.
func FitLogistic(features []string, rows [][]float64, labels []bool, weight []float64, ridge float64, products int) (*Logistic, error) {
	n := len(rows)
	if len(labels) != n || weight != nil && len(weight) != n {
		return nil, ref.Inputf("rows", "", "%d rows, %d labels, %d weights", n, len(labels), len(weight))
	}
	if !(ridge > 0) {
		return nil, ref.Inputf("ridge", "Use a positive number such as 1.", "%g is not positive", ridge)
	}
	for i, row := range rows {
		if len(row) != len(features) {
			return nil, ref.Inputf("rows", "", "row %d has %d values, not %d", i+1, len(row), len(features))
		}
	}
	m := &Logistic{Features: features, Weight: make([]float64, len(features))}
	for j := range features {
		m.standardise(n, func(i int) float64 { return rows[i][j] })
	}
	for {
		clear(m.Weight) // the penalty is on the distance from 0
		if err := m.fit(rows, labels, weight, ridge, ridge); err != nil {
			return nil, err
		}
		if len(m.Pairs) >= products {
			return m, nil
		}
		m.addProducts(rows, labels, weight, min(productsAtOnce, products-len(m.Pairs)))
	}
}

// productsAtOnce is how many products are chosen between two fits.
const productsAtOnce = 10

// standardise appends Mean and SD of a column of n values.
func (m *Logistic) standardise(n int, at func(i int) float64) {
	var k, sum, squares float64
	for i := range n {
		if v := at(i); !math.IsNaN(v) && !math.IsInf(v, 0) {
			k, sum, squares = k+1, sum+v, squares+v*v
		}
	}
	mean, sd := 0.0, 0.0
	if k > 0 {
		mean = sum / k
		sd = math.Sqrt(max(0, squares/k-mean*mean))
	}
	if sd < 1e-12 {
		sd = 0 // says nothing
	}
	m.Mean, m.SD = append(m.Mean, mean), append(m.SD, sd)
}

// addProducts takes in the k products for which the score test is largest.
func (m *Logistic) addProducts(rows [][]float64, labels []bool, weight []float64, k int) {
	n := len(m.Features)
	type sums struct{ pull, about, info, infoAbout, infoSquare float64 }
	all := make([]sums, n*n)
	for i, row := range rows {
		p := 1 / (1 + math.Exp(-m.Score(row)))
		w := rowWeight(weight, i)
		e, v := w*(float64(btoi(labels[i]))-p), w*p*(1-p)
		z := m.terms(row)
		for a := range n {
			for b := a; b < n; b++ {
				s, t := &all[a*n+b], z[a]*z[b]
				s.pull += e * t
				s.about += e
				s.info += v
				s.infoAbout += v * t
				s.infoSquare += v * t * t
			}
		}
	}
	type choice struct {
		pair [2]int
		test float64
	}
	var choices []choice
	for a := range n {
		for b := a; b < n; b++ {
			s := all[a*n+b]
			spread := s.infoSquare - s.infoAbout*s.infoAbout/s.info
			if spread > 1e-9 && !slices.Contains(m.Pairs, [2]int{a, b}) {
				pull := s.pull - s.about*s.infoAbout/s.info
				choices = append(choices, choice{[2]int{a, b}, pull * pull / spread})
			}
		}
	}
	slices.SortStableFunc(choices, func(a, b choice) int { return cmp.Compare(b.test, a.test) })
	for _, c := range choices[:min(k, len(choices))] {
		m.Pairs = append(m.Pairs, c.pair)
		m.Weight = append(m.Weight, 0)
		a, b := c.pair[0], c.pair[1]
		m.standardise(len(rows), func(i int) float64 { return m.standard(a, rows[i][a]) * m.standard(b, rows[i][b]) })
	}
}

// fit improves m, whose Mean, SD and Weight are set, on the rows. The penalty is
// on how far the weights move from those that m has, ridge for those of features
// and pairRidge for those of products.
func (m *Logistic) fit(rows [][]float64, labels []bool, weight []float64, ridge, pairRidge float64) error {
	n, p := len(rows), len(m.Weight)
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
		for j, z := range m.terms(row) {
			x.Set(i, j+1, z)
		}
	}
	prior := mat.NewVecDense(p+1, append([]float64{0}, m.Weight...))
	firm := make([]float64, p+1) // none for the bias
	for j := range p {
		firm[j+1] = ridge
		if j >= len(m.Features) {
			firm[j+1] = pairRidge
		}
	}
	beta := mat.VecDenseCopyOf(prior)
	beta.SetVec(0, math.Log(positive/(total-positive)))
	loss := penalisedLoss(x, labels, weight, beta, prior, firm)
	for range 100 {
		step, err := newtonStep(x, labels, weight, beta, prior, firm)
		if err != nil {
			return err
		}
		// The whole step may overshoot where the likelihood is flat; the loss is
		// convex, so some part of it helps until the minimum is reached.
		next := mat.NewVecDense(p+1, nil)
		better := math.Inf(1)
		for part := 1.0; part > 1e-6; part /= 2 {
			next.AddScaledVec(beta, part, step)
			if better = penalisedLoss(x, labels, weight, next, prior, firm); better <= loss {
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

// penalisedLoss is the negative log-likelihood with the penalty.
func penalisedLoss(x *mat.Dense, labels []bool, weight []float64, beta, prior *mat.VecDense, ridge []float64) float64 {
	n, p := x.Dims()
	loss := 0.0
	for i := range n {
		z := 0.0
		for j, v := range x.RawRowView(i) {
			z += v * beta.AtVec(j)
		}
		if labels[i] {
			z = -z
		}
		// log(1 + exp(z)) without overflow.
		loss += rowWeight(weight, i) * (max(z, 0) + math.Log1p(math.Exp(-math.Abs(z))))
	}
	for j := 1; j < p; j++ {
		d := beta.AtVec(j) - prior.AtVec(j)
		loss += ridge[j] / 2 * d * d
	}
	return loss
}

// newtonStep solves (X'WX + R) step = X'(y - p) - R (beta - prior).
func newtonStep(x *mat.Dense, labels []bool, weight []float64, beta, prior *mat.VecDense, ridge []float64) (*mat.VecDense, error) {
	n, p := x.Dims()
	sums := make([]float64, p*p) // the upper half
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
			f, to := w*q*(1-q)*v, sums[j*p:(j+1)*p]
			for k := j; k < p; k++ {
				to[k] += f * row[k]
			}
		}
	}
	hess := mat.NewSymDense(p, sums)
	for j := 1; j < p; j++ {
		hess.SetSym(j, j, hess.At(j, j)+ridge[j])
		grad.SetVec(j, grad.AtVec(j)-ridge[j]*(beta.AtVec(j)-prior.AtVec(j)))
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
