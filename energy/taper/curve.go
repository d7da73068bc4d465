package taper

import (
	"fmt"
	"math"
	"sort"
)

// LeastPowerKW is the power below which a charger counts as giving none.
const LeastPowerKW = 0.001

// Point is one corner of a curve: the power at a state of charge.
type Point struct {
	SoC     float64 // state of charge, 0..1
	PowerKW float64 // power into the battery, kW, ≥ 0
}

// Curve is power against state of charge: straight lines between points in
// rising order of SoC. Two points at one SoC make a step, from the first
// power to the second. Below the first point and above the last the power is
// that of the nearest point.
type Curve []Point

// Error says what is wrong with a curve or a battery.
type Error struct {
	Point    int    // index of the offending point, -1 where it is none
	Field    string // "SoC", "PowerKW", "points" or "capacityKWh"
	Found    string
	Expected string
}

// Error gives the message on one line.
func (e *Error) Error() string {
	if e.Point < 0 {
		return fmt.Sprintf("taper: %s: found %s: expected %s", e.Field, e.Found, e.Expected)
	}
	return fmt.Sprintf("taper: point %d, %s: found %s: expected %s", e.Point, e.Field, e.Found, e.Expected)
}

// Flat returns the curve with one power everywhere, kW.
func Flat(powerKW float64) Curve { return Curve{{0, powerKW}, {1, powerKW}} }

// Validate returns nil or an [*Error]: a curve has at least one point, SoC in
// 0..1 and not falling, at most two points at one SoC, power finite and not
// negative.
func (c Curve) Validate() error {
	if len(c) == 0 {
		return &Error{-1, "points", "none", "at least one"}
	}
	for i, p := range c {
		if !(p.SoC >= 0 && p.SoC <= 1) {
			return &Error{i, "SoC", fmt.Sprint(p.SoC), "a share from 0 to 1"}
		}
		if !(p.PowerKW >= 0) || math.IsInf(p.PowerKW, 1) {
			return &Error{i, "PowerKW", fmt.Sprint(p.PowerKW), "a finite power of 0 kW or more"}
		}
		if i > 0 && p.SoC < c[i-1].SoC {
			return &Error{i, "SoC", fmt.Sprint(p.SoC), fmt.Sprintf("no less than %v, the point before", c[i-1].SoC)}
		}
		if i > 1 && p.SoC == c[i-2].SoC {
			return &Error{i, "SoC", fmt.Sprint(p.SoC), "at most two points at one state of charge"}
		}
	}
	return nil
}

// PowerKW returns the power at soc, kW. On a step it is the power above it.
// An empty curve gives none.
func (c Curve) PowerKW(soc float64) float64 {
	above := sort.Search(len(c), func(i int) bool { return c[i].SoC > soc })
	return c.between(above, soc)
}

// below is PowerKW, but on a step the power below it.
func (c Curve) below(soc float64) float64 {
	above := sort.Search(len(c), func(i int) bool { return c[i].SoC >= soc })
	return c.between(above, soc)
}

func (c Curve) between(above int, soc float64) float64 {
	switch {
	case len(c) == 0:
		return 0
	case above == 0:
		return c[0].PowerKW
	case above == len(c):
		return c[len(c)-1].PowerKW
	}
	a, b := c[above-1], c[above]
	if a.SoC == b.SoC {
		return b.PowerKW
	}
	share := (soc - a.SoC) / (b.SoC - a.SoC)
	return a.PowerKW + share*(b.PowerKW-a.PowerKW)
}

// PeakKW returns the highest power of the curve, kW.
func (c Curve) PeakKW() float64 {
	peak := 0.0
	for _, p := range c {
		peak = math.Max(peak, p.PowerKW)
	}
	return peak
}

// Scale returns the curve with every power multiplied by factor (≥ 0).
func (c Curve) Scale(factor float64) Curve {
	out := make(Curve, len(c))
	for i, p := range c {
		out[i] = Point{p.SoC, p.PowerKW * factor}
	}
	return out
}

// Cap returns the curve limited to powerKW, with exact corners where it cuts.
func (c Curve) Cap(powerKW float64) Curve { return c.Min(Flat(powerKW)) }

// Min returns the lower of two curves at every SoC, with exact corners where
// they cross. The minimum with an empty curve is the other curve.
func (c Curve) Min(d Curve) Curve {
	if len(c) == 0 {
		return append(Curve(nil), d...)
	}
	if len(d) == 0 {
		return append(Curve(nil), c...)
	}
	corners := corners(c, d)
	out := make(Curve, 0, 2*len(corners))
	for i, s := range corners {
		if i > 0 {
			out = appendCrossing(out, c, d, corners[i-1], s)
			out = append(out, Point{s, math.Min(c.below(s), d.below(s))})
		}
		out = append(out, Point{s, math.Min(c.PowerKW(s), d.PowerKW(s))})
	}
	return out.Simplify()
}

// appendCrossing adds the point inside (s0, s1) where two curves, both
// straight there, cross.
func appendCrossing(out, c, d Curve, s0, s1 float64) Curve {
	gap0 := c.PowerKW(s0) - d.PowerKW(s0)
	gap1 := c.below(s1) - d.below(s1)
	if gap0*gap1 >= 0 {
		return out
	}
	s := s0 + (s1-s0)*gap0/(gap0-gap1)
	if !(s > s0 && s < s1) {
		return out
	}
	return append(out, Point{s, math.Min(c.PowerKW(s), d.PowerKW(s))})
}

// corners lists every SoC where one of the curves has a point, with 0 and 1.
func corners(c, d Curve) []float64 {
	all := []float64{0, 1}
	for _, p := range c {
		all = append(all, p.SoC)
	}
	for _, p := range d {
		all = append(all, p.SoC)
	}
	sort.Float64s(all)
	out := all[:1]
	for _, s := range all[1:] {
		if s > out[len(out)-1] {
			out = append(out, s)
		}
	}
	return out
}

// Simplify returns the same curve without points that lie on the straight
// line of their neighbours (to one part in 10¹²).
func (c Curve) Simplify() Curve {
	out := make(Curve, 0, len(c))
	for _, p := range c {
		n := len(out)
		if n > 0 && out[n-1] == p {
			continue
		}
		if n > 1 && straight(out[n-2], out[n-1], p) {
			out[n-1] = p
			continue
		}
		out = append(out, p)
	}
	return out
}

func straight(a, b, c Point) bool {
	if !(a.SoC < b.SoC && b.SoC < c.SoC) {
		return false
	}
	want := a.PowerKW + (b.SoC-a.SoC)/(c.SoC-a.SoC)*(c.PowerKW-a.PowerKW)
	return math.Abs(want-b.PowerKW) <= 1e-12*(1+math.Abs(b.PowerKW))
}
