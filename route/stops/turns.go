package stops

import (
	"math"

	"ampleway/energy/taper"
)

// turns appends the departure SoCs in (low, high] at which leaving j for k can
// be best, apart from low itself: where the value of one more bit of charge at
// j, g_j(x), stops being less than what it saves at k, g_k(x − cost). With
// power p, a second worth a and energy worth b, g = a/p + b; on pieces where
// both powers are straight lines the difference times p_j p_k is a quadratic,
//
//	f(x) = a_j p_k + (b_j − b_k) p_j p_k − a_k p_j,
//
// and a minimum is where f turns from − to +: at most once a piece, or at a
// corner. Where power at k is cut off below some SoC, arriving just above it
// counts as well. dearer is what a full battery costs more at j than at k.
func turns(out []float64, j, k rate, dearer, cost, low, high float64, falling bool) []float64 {
	if !(low < high) {
		return out
	}
	pj, pk := j.power.Pieces(), k.power.Pieces()
	parted := k.parted()
	a, b := pieceAt(pj, low), pieceAt(pk, low-cost)
	for x := low; x < high; {
		next := math.Min(high, math.Min(pj[a].ToSoC, upTo(pk, b, cost)))
		if next > x {
			here, there := pj[a], pk[b]
			f := difference(here, there, j, k, dearer, x, cost)
			if f.at(0) >= 0 && falling {
				out = append(out, x)
			}
			if parted && x > low && there.FromSoC+cost == x {
				out = append(out, math.Min(x+1e-12, high))
			}
			if u, ok := f.upwards(next - x); ok {
				out = append(out, x+u)
			}
			falling = f.at(next-x) < 0
			x = next
		}
		switch {
		case pj[a].ToSoC <= x && a+1 < len(pj):
			a++
		case upTo(pk, b, cost) <= x && b+1 < len(pk):
			b++
		default:
			x = high
		}
	}
	if falling {
		out = append(out, high)
	}
	return out
}

func pieceAt(p []taper.Piece, soc float64) int {
	i := 0
	for i+1 < len(p) && p[i].ToSoC <= soc {
		i++
	}
	return i
}

// upTo is the departure SoC up to which piece b is the one at arrival.
func upTo(p []taper.Piece, b int, cost float64) float64 {
	if b+1 == len(p) {
		return math.Inf(1)
	}
	return p[b].ToSoC + cost
}

// quadratic is c0 + c1 u + c2 u².
type quadratic struct{ c0, c1, c2 float64 }

func (q quadratic) at(u float64) float64 { return q.c0 + u*(q.c1+u*q.c2) }

// upwards is the place in (0, width] where q turns from − to +.
func (q quadratic) upwards(width float64) (float64, bool) {
	d := q.c1*q.c1 - 4*q.c0*q.c2
	if !(d > 0) {
		return 0, false
	}
	root := math.Sqrt(d)
	u := 0.0
	if q.c1 >= 0 {
		u = -2 * q.c0 / (q.c1 + root)
	} else {
		u = (root - q.c1) / (2 * q.c2)
	}
	return math.Min(u, width), u > 0 && u <= width*(1+1e-12)
}

// difference is f of turns, as a function of u = departure SoC − x.
func difference(here, there taper.Piece, j, k rate, dearer, x, cost float64) quadratic {
	slopeJ := (here.ToKW - here.FromKW) / (here.ToSoC - here.FromSoC)
	slopeK := (there.ToKW - there.FromKW) / (there.ToSoC - there.FromSoC)
	pj := here.FromKW + slopeJ*(x-here.FromSoC)
	pk := there.FromKW + slopeK*(x-cost-there.FromSoC)
	// Seconds of charging are worth perS × 3600 E / p, energy perSoC: divide by
	// the common factor.
	b := dearer / (3600 * j.power.CapacityKWh())
	return quadratic{
		j.perS*pk - k.perS*pj + b*pj*pk,
		j.perS*slopeK - k.perS*slopeJ + b*(pj*slopeK+pk*slopeJ),
		b * slopeJ * slopeK,
	}
}
