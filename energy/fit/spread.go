package fit

import (
	"math"
)

// Spread is how far measured energy strays from the fitted, relative to it.
type Spread struct {
	TripPct  float64 `json:"trip_pct"`      // standard deviation of what a whole trip shares, drawn towards the car's own figure
	SeenPct  float64 `json:"trip_seen_pct"` // what the drives alone show; 0: no more than the pieces explain
	PiecePct float64 `json:"piece_pct"`     // standard deviation within a trip from piece to piece
	PieceKm  float64 `json:"piece_km"`      // length of a piece
	LegPct   float64 `json:"leg_pct"`       // what PiecePct comes to over a leg, pieces being independent
	LegKm    float64 `json:"leg_km"`        // length of that leg
	Measured bool    `json:"measured"`      // false: too few drives, TripPct is the car's own figure
}

const (
	pieceKm  = 5.0
	legKm    = 100.0
	mostOff  = 0.5 // a piece further off than this counts as this far off
	leastKWh = 0.1
	// spreadPrior is the number of drives that the car's own spread between
	// trips counts for: a dozen drives on one driver's usual roads understate
	// what the next journey may bring.
	spreadPrior = 5.0
)

// spread splits the relative residuals of 5 km pieces into a part between
// trips and one within them, by the one-way analysis of variance with random
// effects for groups of unequal size (Searle, Casella, McCulloch, Variance
// Components, 1992, ch. 3). Each trip is judged by the fit that has not seen
// it.
func (f *driveFit) spread() Spread {
	day := f.car.DaySpread()
	s := Spread{TripPct: 100 * day.Trip, PieceKm: pieceKm, LegKm: legKm, LegPct: 100 * day.Leg}
	var all [][]float64
	for i, d := range f.drives {
		th := &f.th
		if f.byTrip {
			th = &f.left[i]
		}
		if off := d.piecesOff(th); len(off) > 0 {
			all = append(all, off)
		}
	}
	between, within, ok := components(all)
	if within > 0 {
		s.PiecePct = 100 * math.Sqrt(within)
		s.LegPct = s.PiecePct * math.Sqrt(pieceKm/legKm)
	}
	if ok && f.byTrip {
		prior := day.Trip * day.Trip
		seen := float64(len(all) - 1)
		s.SeenPct = 100 * math.Sqrt(between)
		s.TripPct, s.Measured = 100*math.Sqrt((spreadPrior*prior+seen*between)/(spreadPrior+seen)), true
	}
	return s
}

// piecesOff is measured over expected energy less one for every 5 km.
func (d *drive) piecesOff(th *theta) []float64 {
	var out []float64
	var km, measured, expected float64
	for i := range d.windows {
		w := &d.windows[i]
		km += w.distanceM / 1000
		measured += w.measuredKWh
		expected += d.predictKWh(w, th) + w.climateKWh
		if km >= pieceKm && expected >= leastKWh {
			out = append(out, min(max(measured/expected-1, -mostOff), mostOff))
			km, measured, expected = 0, 0, 0
		}
	}
	return out
}

// components returns the variances between and within groups; ok is false
// when there are too few of either.
func components(groups [][]float64) (between, within float64, ok bool) {
	var n, sum, sizes float64
	for _, g := range groups {
		n += float64(len(g))
		sizes += float64(len(g) * len(g))
		for _, x := range g {
			sum += x
		}
	}
	k := float64(len(groups))
	if n <= k || k < 1 {
		return 0, 0, false
	}
	var squaresIn, squaresOut float64
	for _, g := range groups {
		var mean float64
		for _, x := range g {
			mean += x / float64(len(g))
		}
		for _, x := range g {
			squaresIn += (x - mean) * (x - mean)
		}
		squaresOut += float64(len(g)) * (mean - sum/n) * (mean - sum/n)
	}
	within = squaresIn / (n - k)
	if k < 2 {
		return 0, within, false
	}
	between = (squaresOut/(k-1) - within) / ((n - sizes/n) / (k - 1))
	return max(between, 0), within, true
}
