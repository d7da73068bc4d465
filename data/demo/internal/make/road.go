package main

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/interp"
)

// wave is one sine of a road's bends or of its ups and downs.
type wave struct{ lengthM, heightM float64 }

// kind is a class of road: its OSM highway value, how it bends and rolls.
type kind struct {
	highway string
	bends   []wave
	rolls   []wave
}

var (
	motorway = kind{"motorway", []wave{{31000, 1500}, {11000, 420}, {6300, 180}}, []wave{{7000, 14}, {3100, 5}}}
	trunk    = kind{"trunk", []wave{{26000, 1700}, {6000, 330}, {3100, 120}}, []wave{{5000, 14}, {2300, 5}}}
	coast    = kind{"primary", []wave{{23000, 1500}, {9100, 500}, {4300, 260}, {2100, 110}, {1300, 35}}, []wave{{2900, 6}, {1700, 3}}}
	hill     = kind{"secondary", []wave{{19000, 1500}, {8300, 600}, {3700, 260}, {1900, 120}, {1100, 40}}, []wave{{4100, 26}, {2200, 11}}}
	pass     = kind{"primary", []wave{{7100, 900}, {2900, 430}, {1050, 190}, {710, 60}}, []wave{{1900, 4}}}
)

const (
	sampleM    = 20.0   // spacing at which roads are drawn
	calmM      = 1500.0 // bends and rolls fade out at least this close to a place
	townKmh    = 50.0
	lowestRoad = 2.0 // no road lies lower, metres above the sea
)

// stretch runs from the place before it to the place named.
type stretch struct {
	to       string
	kind     kind
	limitKmh float64
}

type roadPlan struct {
	corridor      bool // has a file of its own
	id, ref, name string
	from          string
	stretches     []stretch
}

// road is a drawn road: points every 20 m or so with the plan's facts.
type road struct {
	plan       roadPlan
	line       []xy
	alongM     []float64
	elevationM []float64
	limitKmh   []float64 // of the piece that starts here
	kind       []kind    // of the piece that starts here
	speedMS    []float64
	knots      []int // index of each place
}

func (r roadPlan) placeNames() []string {
	names := []string{r.from}
	for _, s := range r.stretches {
		names = append(names, s.to)
	}
	return names
}

// draw makes the road. The seed decides the phases of its waves.
func (r roadPlan) draw(seed uint64) road {
	knots := make([]xy, 0, len(r.stretches)+1)
	heights := make([]float64, 0, cap(knots))
	for _, name := range r.placeNames() {
		p := placeNamed(name)
		knots = append(knots, p.at())
		heights = append(heights, p.elevationM)
	}
	base, at := spine(knots, sampleM)
	along := lengths(base)
	random := rand.New(rand.NewPCG(seed, 1))
	sideways, upwards := make([]float64, len(base)), r.profile(along, at, heights)
	for i, s := range r.stretches {
		lo, hi := at[i], at[i+1]
		addWaves(sideways[lo:hi], along[lo:hi+1], s.kind.bends, random)
		addWaves(upwards[lo:hi], along[lo:hi+1], s.kind.rolls, random)
	}
	out := road{plan: r, line: make([]xy, len(base)), elevationM: upwards, knots: at,
		limitKmh: make([]float64, len(base)), kind: make([]kind, len(base))}
	for i, p := range base {
		out.line[i] = p.plus(direction(base, i).leftNormal().times(sideways[i]))
		out.elevationM[i] = max(out.elevationM[i], lowestRoad)
	}
	out.alongM = lengths(out.line)
	out.setLimits()
	out.setSpeeds()
	return out
}

// profile is the elevation without rolls: a monotone cubic (Fritsch and Butland
// 1984) through the places, so that a pass is the highest point of its road.
func (r roadPlan) profile(along []float64, at []int, heights []float64) []float64 {
	knots := make([]float64, len(at))
	for i, k := range at {
		knots[i] = along[k]
	}
	var curve interp.FritschButland
	if err := curve.Fit(knots, heights); err != nil {
		panic("make: profile of " + r.id + ": " + err.Error())
	}
	z := make([]float64, len(along))
	for i, s := range along {
		z[i] = curve.Predict(s)
	}
	return z
}

// addWaves adds the waves to values, faded out towards both ends.
func addWaves(values, along []float64, waves []wave, random *rand.Rand) {
	from, to := along[0], along[len(along)-1]
	for _, w := range waves {
		shape := newUneven(w, random)
		calm := max(calmM, w.lengthM/6)
		for i := range values {
			fade := smooth((along[i]-from)/calm) * smooth((to-along[i])/calm)
			values[i] += fade * shape.at(along[i]-from)
		}
	}
}

// uneven is a wave whose length and height drift, as no two bends are alike.
type uneven struct {
	wave
	phase, drift, swell float64
}

func newUneven(w wave, random *rand.Rand) uneven {
	angle := func() float64 { return random.Float64() * 2 * math.Pi }
	return uneven{w, angle(), angle(), angle()}
}

func (u uneven) at(alongM float64) float64 {
	turns := 2 * math.Pi * alongM / u.lengthM
	height := u.heightM * (0.65 + 0.35*math.Sin(turns/5.3+u.swell))
	return height * math.Sin(turns+u.phase+1.2*math.Sin(turns/4.1+u.drift))
}

// smooth rises from 0 to 1 with flat ends (the cubic 3f² − 2f³).
func smooth(f float64) float64 {
	f = min(max(f, 0), 1)
	return f * f * (3 - 2*f)
}

func (r *road) setLimits() {
	slow := make([]place, 0, len(r.knots))
	for _, name := range r.plan.placeNames() {
		slow = append(slow, placeNamed(name))
	}
	for i := range r.line {
		s := r.plan.stretches[r.stretchAt(i)]
		r.kind[i], r.limitKmh[i] = s.kind, s.limitKmh
		for _, p := range slow {
			if r.line[i].distanceM(p.at()) < p.slowM {
				r.limitKmh[i] = townKmh
			}
		}
	}
}

func (r *road) stretchAt(i int) int {
	for k := 1; k < len(r.knots)-1; k++ {
		if i < r.knots[k] {
			return k - 1
		}
	}
	return len(r.knots) - 2
}

// sampleAt returns the index of the first point at or after the distance.
func (r *road) sampleAt(alongM float64) int {
	for i, s := range r.alongM {
		if s >= alongM {
			return i
		}
	}
	return len(r.alongM) - 1
}
