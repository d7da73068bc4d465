package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

const confidence = 0.95

// interval returns the 95 % interval of a figure computed from the fitted
// parameters, by the jackknife over groups (Efron and Stein, Ann. Stat. 1981;
// 9:586): with θᵢ the figure without group i, its variance is (g−1)/g Σ(θᵢ −
// mean)², and Student's t gives the width. What one drive shares (wind,
// traffic, load) is left out together, so it counts once, not once a second.
//
// The degrees of freedom are those of the effective number of groups 1/Σγᵢ²,
// γᵢ the share of group i in what is known of the figure (Carter, Schnepel and
// Steigerwald, Rev. Econ. Stat. 2017; 99:698): ten drives of which two hold all
// the motorway say as much about drag as two or three.
func (f *driveFit) interval(figure func(*theta) float64) (low, high float64) {
	value := figure(&f.th)
	left := make([]float64, len(f.left))
	for i := range f.left {
		left[i] = figure(&f.left[i])
	}
	g := float64(len(left))
	mean := stat.Mean(left, nil)
	var squares float64
	for _, x := range left {
		squares += (x - mean) * (x - mean)
	}
	half := student(f.effectiveGroups(figure)-1) * math.Sqrt((g-1)/g*squares)
	return value - half, value + half
}

// effectiveGroups is 1/Σγᵢ² with γᵢ = cᵀH⁻¹HᵢH⁻¹c / cᵀH⁻¹c, c the gradient of the
// figure, Hᵢ the normal matrix of group i and H their sum. At least 2.
func (f *driveFit) effectiveGroups(figure func(*theta) float64) float64 {
	n := len(f.free)
	gradient := mat.NewVecDense(n, nil)
	for k, p := range f.free {
		h := derivativeStep(f.th[p])
		up, down := f.th, f.th
		up[p] += h
		down[p] -= h
		gradient.SetVec(k, (figure(&up)-figure(&down))/(2*h))
	}
	whole := mat.NewSymDense(n, nil)
	for _, h := range f.normals {
		whole.AddSym(whole, h)
	}
	var chol mat.Cholesky
	var c mat.VecDense
	if !chol.Factorize(whole) || chol.SolveVecTo(&c, gradient) != nil {
		return leastEffective
	}
	var squares float64
	all := mat.Inner(&c, whole, &c)
	for _, h := range f.normals {
		share := mat.Inner(&c, h, &c) / all
		squares += share * share
	}
	return max(1/squares, leastEffective)
}

const leastEffective = 2.0

// groupNormals are the normal matrices of the groups at the fitted parameters.
func (f *driveFit) groupNormals() []*mat.SymDense {
	out := make([]*mat.SymDense, len(f.groups))
	for i, d := range f.groups {
		var at []place
		for k := range d.windows {
			at = append(at, place{d, &d.windows[k]})
		}
		weight := make([]float64, len(at))
		for k := range weight {
			weight[k] = 1
		}
		out[i], _ = normalEquations(at, make([]float64, len(at)), weight, &f.th, f.free)
	}
	return out
}

// factorInterval is the interval of a figure proportional to traction energy.
// Parts of a few drives cannot show how drives differ. There the car's own
// spread between trips is added.
func (f *driveFit) factorInterval(figure func(*theta) float64) (low, high float64) {
	low, high = f.interval(figure)
	if f.byTrip {
		return low, high
	}
	value := figure(&f.th)
	between := distuv.UnitNormal.Quantile((1+confidence)/2) * f.car.Spread.Trip * value / math.Sqrt(float64(len(f.drives)))
	half := math.Hypot((high-low)/2, between)
	return value - half, value + half
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
