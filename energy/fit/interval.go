package fit

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

const confidence = 0.95

// interval returns the 95 % interval of a figure computed from the fitted
// parameters, by the jackknife over groups (Efron and Stein, Ann. Stat. 1981;
// 9:586): with θᵢ the figure without group i, its variance is (g−1)/g Σ(θᵢ −
// mean)², and Student's t with g − 1 degrees of freedom gives the width. What
// one drive shares (wind, traffic, load) is left out together, so it counts
// once, not once a second.
//
// Parts of a few drives cannot show how drives differ. There the car's own
// spread between trips is added.
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
	half := student(g-1) * math.Sqrt((g-1)/g*squares)
	return value - half, value + half
}

// factorInterval is the interval of a figure proportional to traction energy.
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

// tractionFactor is the traction energy of the drives with the fitted
// parameters over that of the car as given.
func (f *driveFit) tractionFactor(th *theta) float64 {
	as := asGiven(f.car)
	var fitted, given float64
	for _, d := range f.drives {
		for i := range d.windows {
			fitted += d.tractionKWh(&d.windows[i], th)
			given += d.tractionKWh(&d.windows[i], &as)
		}
	}
	return fitted / given
}
