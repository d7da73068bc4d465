package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

const confidence = 0.95

// influences says how far each group (a drive, or a part of one) pulls the
// fitted parameters: one vector a group. The sum of their outer products is the
// parameters' covariance, robust to whatever the seconds of one drive share
// (wind, traffic, load): each drive counts once.
//
// It is the bias-reduced sandwich CR2 (Bell and McCaffrey, Survey Methodology
// 2002; 28:169) for Huber's estimator: with H the sum of the groups' matrices
// Hᵢ = JᵢᵀΨ'Jᵢ and sᵢ = JᵢᵀWrᵢ,
//
//	tᵢ = H^−½ (1 − H^−½ Hᵢ H^−½)^−½ H^−½ sᵢ
//
// false when the windows do not determine the parameters.
func influences(matrices []*mat.SymDense, scores []*mat.VecDense) ([]*mat.VecDense, bool) {
	whole := sum(matrices)
	n := whole.SymmetricDim()
	root, ok := power(whole, func(x float64) float64 { return 1 / math.Sqrt(x) })
	if !ok {
		return nil, false
	}
	out := make([]*mat.VecDense, len(matrices))
	for i, h := range matrices {
		var share mat.Dense
		share.Product(root, h, root)
		rest := mat.NewSymDense(n, nil)
		for a := range n {
			for b := a; b < n; b++ {
				rest.SetSym(a, b, -(share.At(a, b)+share.At(b, a))/2)
			}
			rest.SetSym(a, a, rest.At(a, a)+1)
		}
		lift, ok := power(rest, func(x float64) float64 { return 1 / math.Sqrt(max(x, leastRest)) })
		if !ok {
			return nil, false
		}
		var chain mat.Dense
		chain.Product(root, lift, root)
		out[i] = mat.NewVecDense(n, nil)
		out[i].MulVec(&chain, scores[i])
	}
	return out, true
}

// leastRest is the least that the other groups must know of a parameter for
// one group's pull on it to be told.
const leastRest = 1e-3

// groupEquations returns JᵀΨ'J and JᵀWr of every group.
func groupEquations(groups []*drive, th *theta, free []int) ([]*mat.SymDense, []*mat.VecDense) {
	at, observed := places(groups)
	residual, weight, core := make([]float64, len(at)), make([]float64, len(at)), make([]float64, len(at))
	residuals(residual, observed, at, th)
	scale := weigh(weight, residual)
	for i, r := range residual {
		if math.Abs(r) <= huberK*scale {
			core[i] = 1
		}
	}
	matrices, scores := make([]*mat.SymDense, len(groups)), make([]*mat.VecDense, len(groups))
	from := 0
	for i, d := range groups {
		to := from + len(d.windows)
		matrices[i], _ = normalEquations(at[from:to], residual[from:to], core[from:to], th, free)
		_, scores[i] = normalEquations(at[from:to], residual[from:to], weight[from:to], th, free)
		from = to
	}
	return matrices, scores
}

// power applies f to the eigenvalues of a symmetric matrix.
func power(m *mat.SymDense, f func(float64) float64) (*mat.Dense, bool) {
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		return nil, false
	}
	values := e.Values(nil)
	var vectors, out mat.Dense
	e.VectorsTo(&vectors)
	for i, x := range values {
		if values[i] = f(x); math.IsNaN(values[i]) || math.IsInf(values[i], 0) {
			return nil, false
		}
	}
	out.Product(&vectors, mat.NewDiagDense(len(values), values), vectors.T())
	return &out, true
}

func sum(matrices []*mat.SymDense) *mat.SymDense {
	whole := mat.NewSymDense(matrices[0].SymmetricDim(), nil)
	for _, m := range matrices {
		whole.AddSym(whole, m)
	}
	return whole
}

// interval returns the 95 % interval of a figure computed from the fitted
// parameters, with Student's t for the number of groups less one.
func (f *driveFit) interval(figure func(*theta) float64) (low, high float64) {
	return f.around(figure, f.deviation(f.gradient(figure)), float64(len(f.groups)-1))
}

// partInterval is the interval of a part of the road load. Parts of a few
// drives cannot show how drives differ; there the car's own spread between
// trips is added.
func (f *driveFit) partInterval(figure func(*theta) float64) (low, high float64) {
	return f.around(figure, f.withTrips(figure, f.deviation(f.gradient(figure))), float64(len(f.groups)-1))
}

// factorInterval is the interval of the user factor. There a drive acts as a
// whole, and drives that say more about it weigh more: with sᵢ the share of
// group i in what is known of it, the degrees of freedom are (Σsᵢ²)²/Σsᵢ⁴ − 1
// (Satterthwaite, Biometrics 1946; 2:110).
func (f *driveFit) factorInterval(figure func(*theta) float64) (low, high float64) {
	gradient := f.gradient(figure)
	return f.around(figure, f.withTrips(figure, f.deviation(gradient)), f.freedom(gradient))
}

func (f *driveFit) around(figure func(*theta) float64, deviation, freedom float64) (low, high float64) {
	value, half := figure(&f.th), student(freedom)*deviation
	return value - half, value + half
}

// withTrips adds the car's spread between trips where the groups are not trips.
func (f *driveFit) withTrips(figure func(*theta) float64, deviation float64) float64 {
	if f.byTrip {
		return deviation
	}
	return math.Hypot(deviation, f.car.DaySpread().Trip*figure(&f.th)/math.Sqrt(float64(len(f.drives))))
}

func (f *driveFit) gradient(figure func(*theta) float64) *mat.VecDense {
	out := mat.NewVecDense(len(f.free), nil)
	for k, p := range f.free {
		h := 1e-4 * math.Max(math.Abs(f.th[p]), 0.05)
		up, down := f.th, f.th
		up[p] += h
		down[p] -= h
		out.SetVec(k, (figure(&up)-figure(&down))/(2*h))
	}
	return out
}

// deviation is the standard deviation of a figure with a gradient.
func (f *driveFit) deviation(gradient *mat.VecDense) float64 {
	var variance float64
	for _, t := range f.influence {
		pull := mat.Dot(gradient, t)
		variance += pull * pull
	}
	return math.Sqrt(variance)
}

func (f *driveFit) freedom(gradient *mat.VecDense) float64 {
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(sum(f.known)) || chol.SolveVecTo(&x, gradient) != nil {
		return 1
	}
	var second, fourth float64
	for _, h := range f.known {
		share := mat.Inner(&x, h, &x)
		second += share * share
		fourth += share * share * share * share
	}
	return max(second*second/fourth-1, 1)
}

func student(freedom float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}.Quantile((1 + confidence) / 2)
}

// tractionFactor is the user factor with which the car as given takes the
// traction energy of the fitted one over all drives. In a factor fit it is the
// fitted factor itself.
func (f *driveFit) tractionFactor(th *theta) float64 {
	as := asGiven(f.car)
	twice := as
	twice[pFactor] = 2
	var fitted, given, doubled float64
	for _, d := range f.drives {
		for i := range d.windows {
			w := &d.windows[i]
			fitted += d.tractionKWh(w, th)
			given += d.tractionKWh(w, &as)
			doubled += d.tractionKWh(w, &twice)
		}
	}
	drawn := doubled - given // for a factor of 1, without what braking gives back
	return 1 + (fitted-given)/drawn
}
