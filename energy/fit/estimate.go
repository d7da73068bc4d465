package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Huber's estimator of location and regression (Huber, Ann. Math. Stat. 1964;
// 35:73): residuals beyond huberK standard deviations count with their size
// only, which is 95 % efficient for a normal spread. The scale is 1.4826 times
// the median absolute residual, taken anew at every step.
const (
	huberK     = 1.345
	madToSigma = 1.4826022185056018
	mostSteps  = 60
	stepEnds   = 1e-7 // relative change of every parameter
	leastScale = 1e-6 // of the expected noise
)

// solve moves the free parameters of th until the weighted squares of the
// windows' residuals, over the noise expected of each, are least (iteratively reweighted Gauss-Newton with
// Levenberg's damping). false: it did not settle, or the windows do not
// determine the parameters.
func solve(drives []*drive, th theta, free []int, bounds *bounds) (theta, bool) {
	at, observed := places(drives)
	if len(observed) < 3*len(free) {
		return th, false
	}
	residual, weight := make([]float64, len(at)), make([]float64, len(at))
	damping := 1e-6
	for range mostSteps {
		residuals(residual, observed, at, &th)
		scale := weigh(weight, residual)
		step, ok := gaussNewton(at, residual, weight, &th, free, damping)
		if !ok {
			return th, false
		}
		next := th
		moved := 0.0
		for k, p := range free {
			next[p] = min(max(th[p]+step[k], bounds[p][0]), bounds[p][1])
			moved = max(moved, math.Abs(next[p]-th[p])/math.Max(math.Abs(th[p]), 0.05))
		}
		trial := make([]float64, len(at))
		residuals(trial, observed, at, &next)
		if huberLoss(trial, scale) > huberLoss(residual, scale)*(1+1e-12) {
			if damping *= 10; damping > 1e6 {
				return th, moved < 1e-4
			}
			continue
		}
		damping = max(damping/10, 1e-9)
		th = next
		if moved < stepEnds {
			return th, true
		}
	}
	return th, true
}

type place struct {
	d *drive
	w *window
}

// places lists all windows and the energy each has apart from climate.
func places(drives []*drive) (at []place, observed []float64) {
	for _, d := range drives {
		for i := range d.windows {
			observed = append(observed, d.windows[i].measuredKWh-d.windows[i].climateKWh)
			at = append(at, place{d, &d.windows[i]})
		}
	}
	return at, observed
}

func residuals(out, observed []float64, at []place, th *theta) {
	for i, p := range at {
		out[i] = (observed[i] - p.d.predictKWh(p.w, th)) / p.w.noiseKWh
	}
}

// weigh sets Huber's weights and returns the scale.
func weigh(weight, residual []float64) float64 {
	size := make([]float64, len(residual))
	for i, r := range residual {
		size[i] = math.Abs(r)
	}
	scale := max(madToSigma*median(size), leastScale)
	for i, r := range residual {
		weight[i] = 1
		if a := math.Abs(r); a > huberK*scale {
			weight[i] = huberK * scale / a
		}
	}
	return scale
}

func huberLoss(residual []float64, scale float64) float64 {
	var sum float64
	for _, r := range residual {
		if a := math.Abs(r) / scale; a > huberK {
			sum += huberK * (a - huberK/2)
		} else {
			sum += a * a / 2
		}
	}
	return sum
}

// gaussNewton returns the step (JᵀWJ + damping diag) δ = JᵀWr.
func gaussNewton(at []place, residual, weight []float64, th *theta, free []int, damping float64) ([]float64, bool) {
	normal, right := normalEquations(at, residual, weight, th, free)
	for a := range free {
		normal.SetSym(a, a, normal.At(a, a)*(1+damping))
	}
	var chol mat.Cholesky
	if !chol.Factorize(normal) || chol.Cond() > 1e12 {
		return nil, false
	}
	var step mat.VecDense
	if err := chol.SolveVecTo(&step, right); err != nil {
		return nil, false
	}
	return step.RawVector().Data, true
}

// normalEquations returns JᵀWJ and JᵀWr.
func normalEquations(at []place, residual, weight []float64, th *theta, free []int) (*mat.SymDense, *mat.VecDense) {
	n := len(free)
	normal, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i, pl := range at {
		gradient := pl.d.gradientKWh(pl.w, th)
		for a, p := range free {
			ga := weight[i] * gradient[p] / pl.w.noiseKWh
			right.SetVec(a, right.AtVec(a)+ga*residual[i])
			for b := a; b < n; b++ {
				normal.SetSym(a, b, normal.At(a, b)+ga*gradient[free[b]]/pl.w.noiseKWh)
			}
		}
	}
	return normal, right
}
