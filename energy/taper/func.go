package taper

import (
	"fmt"
	"math"
)

const (
	secondsPerHour = 3600
	buckets        = 256
)

// Piece is a stretch of state of charge on which power is linear.
type Piece struct {
	FromSoC, ToSoC float64 // FromSoC < ToSoC
	FromKW, ToKW   float64 // power at both ends, kW; 0 where none flows
}

// PowerKW returns the power of the piece's straight line at soc, kW.
func (p Piece) PowerKW(soc float64) float64 {
	return p.FromKW + (p.ToKW-p.FromKW)*(soc-p.FromSoC)/(p.ToSoC-p.FromSoC)
}

// piece is a Piece prepared for look-ups: the time is anchored at the end
// with more power, where it is finite.
type piece struct {
	fromSoC, toSoC float64
	anchorSoC      float64
	anchorKW       float64
	perKW          float64 // scale / anchorKW, 0 where no power flows
	slopePerKW     float64 // slope / anchorKW
	anchorS        float64 // time at the anchor
	fromS, toS     float64 // time at both ends, ±Inf where it diverges
	stretch        int32   // pieces of one stretch are joined by power
}

// Func gives charging times on one curve with one battery, exactly and in
// constant time. It is immutable and safe for use by several goroutines.
type Func struct {
	capacityKWh float64
	scale       float64 // seconds per unit of SoC at 1 kW
	pieces      []piece
	plain       []Piece
	bucket      [buckets + 1]uint16 // first piece that ends above i/buckets
}

// New prepares the curve for a battery of capacityKWh usable energy. The
// error is an [*Error].
func New(c Curve, capacityKWh float64) (*Func, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	if !(capacityKWh > 0) || math.IsInf(capacityKWh, 1) {
		return nil, &Error{-1, "capacityKWh", fmt.Sprint(capacityKWh), "a finite energy above 0 kWh"}
	}
	if len(c) > math.MaxUint16-2 {
		return nil, &Error{-1, "points", fmt.Sprint(len(c)), fmt.Sprintf("at most %d", math.MaxUint16-2)}
	}
	f := &Func{capacityKWh: capacityKWh, scale: secondsPerHour * capacityKWh}
	f.plain = cut(c)
	f.pieces = make([]piece, len(f.plain))
	for i, p := range f.plain {
		f.pieces[i] = f.prepare(i, p)
	}
	i := 0
	for b := range f.bucket {
		for i+1 < len(f.pieces) && f.pieces[i].toSoC <= float64(b)/buckets {
			i++
		}
		f.bucket[b] = uint16(i)
	}
	return f, nil
}

// cut turns a valid curve into pieces that cover 0..1.
func cut(c Curve) []Piece {
	full := append(Curve{{0, c[0].PowerKW}}, c...)
	full = append(full, Point{1, c[len(c)-1].PowerKW})
	var out []Piece
	for i := 1; i < len(full); i++ {
		a, b := full[i-1], full[i]
		if a.SoC == b.SoC {
			continue
		}
		out = append(out, Piece{a.SoC, b.SoC, someKW(a.PowerKW), someKW(b.PowerKW)})
	}
	return out
}

func someKW(kw float64) float64 {
	if kw < LeastPowerKW {
		return 0
	}
	return kw
}

func (f *Func) prepare(i int, p Piece) piece {
	q := piece{fromSoC: p.FromSoC, toSoC: p.ToSoC, anchorSoC: p.FromSoC, anchorKW: p.FromKW}
	if p.ToKW > p.FromKW {
		q.anchorSoC, q.anchorKW = p.ToSoC, p.ToKW
	}
	joined := false
	if i > 0 {
		before := f.plain[i-1]
		q.stretch = f.pieces[i-1].stretch
		joined = before.ToKW > 0 && p.FromKW > 0
		if !joined {
			q.stretch++
		}
	}
	if q.anchorKW > 0 {
		q.perKW = f.scale / q.anchorKW
		q.slopePerKW = (p.ToKW - p.FromKW) / (p.ToSoC - p.FromSoC) / q.anchorKW
	}
	if joined {
		// With the anchor's time still 0, timeS(from) is minus the way to it.
		q.anchorS = f.pieces[i-1].toS - q.timeS(q.fromSoC)
	}
	q.fromS, q.toS = q.timeS(q.fromSoC), q.timeS(q.toSoC)
	if p.FromKW == 0 && p.ToKW > 0 {
		q.fromS = math.Inf(-1)
	}
	if p.ToKW == 0 && p.FromKW > 0 {
		q.toS = math.Inf(1)
	}
	return q
}

// at is timeS for any soc of the piece, its ends included.
func (q *piece) at(soc float64) float64 {
	switch soc {
	case q.fromSoC:
		return q.fromS
	case q.toSoC:
		return q.toS
	}
	return q.timeS(soc)
}

// timeS is G at soc on the piece: the time since the start of its stretch, up
// to one constant for the stretch.
func (q *piece) timeS(soc float64) float64 {
	ahead := soc - q.anchorSoC
	return q.anchorS + q.perKW*ahead*logRatio(q.slopePerKW*ahead)
}

// socAt is the inverse of timeS.
func (q *piece) socAt(seconds float64) float64 {
	if q.perKW == 0 {
		return q.fromSoC
	}
	u := (seconds - q.anchorS) / q.perKW
	soc := q.anchorSoC + u*expRatio(q.slopePerKW*u)
	if soc < q.fromSoC {
		return q.fromSoC
	}
	return min(soc, q.toSoC)
}

// logRatio is ln(1+u)/u, continued through u = 0.
func logRatio(u float64) float64 {
	switch {
	case u > 0.25 || u < -0.25: // 1+u loses nothing that matters
		return math.Log(1+u) / u
	case u > 1e-5 || u < -1e-5:
		return math.Log1p(u) / u
	}
	return 1 - u*(0.5-u*(1.0/3-0.25*u))
}

// expRatio is (e^u−1)/u, continued through u = 0.
func expRatio(u float64) float64 {
	if math.Abs(u) < 1e-5 {
		return 1 + u*(0.5+u*(1.0/6+u/24))
	}
	return math.Expm1(u) / u
}

// CapacityKWh returns the battery's usable energy, kWh.
func (f *Func) CapacityKWh() float64 { return f.capacityKWh }

// Pieces returns the linear pieces that cover 0..1, in order. The slice is
// shared: do not change it.
func (f *Func) Pieces() []Piece { return f.plain }

// PowerKW returns the power at soc (clamped to 0..1), kW. On a step it is the
// power above it.
func (f *Func) PowerKW(soc float64) float64 {
	return f.plain[f.from(soc)].PowerKW(math.Min(math.Max(soc, 0), 1))
}

// from is the index of the piece in which charging from soc begins.
func (f *Func) from(soc float64) int {
	if !(soc > 0) {
		return 0
	}
	if soc >= 1 {
		return len(f.pieces) - 1
	}
	i := int(f.bucket[int(soc*buckets)])
	for f.pieces[i].toSoC <= soc {
		i++
	}
	return i
}

// to is the index of the piece in which charging to soc ends.
func (f *Func) to(soc float64) int {
	i := f.from(soc)
	if i > 0 && f.pieces[i].fromSoC >= soc {
		return i - 1
	}
	return i
}

// TimeS returns the exact time to charge from one SoC to another, seconds. It
// is 0 where to ≤ from, and +Inf where no power flows somewhere between them.
// Both are clamped to 0..1.
func (f *Func) TimeS(from, to float64) float64 {
	from, to = clamp(from), clamp(to)
	if to <= from {
		return 0
	}
	a, b := &f.pieces[f.from(from)], &f.pieces[f.to(to)]
	if a.stretch != b.stretch || a.perKW == 0 {
		return math.Inf(1)
	}
	return math.Max(b.at(to)-a.at(from), 0)
}

// StartS and EndS are readings of one clock along the curve, s: charging from
// a to b > a takes EndS(b) − StartS(a) where both give the same stretch, and
// is impossible where they differ. They are for whoever adds up many charging
// times; TimeS does the same for one. Both arguments are clamped to 0..1.
// StartS is −Inf where power rises from nothing, EndS is +Inf where it ends in
// nothing or there is none.
func (f *Func) StartS(a float64) (seconds float64, stretch int) {
	a = clamp(a)
	q := &f.pieces[f.from(a)]
	return q.at(a), int(q.stretch)
}

// EndS is described at StartS.
func (f *Func) EndS(b float64) (seconds float64, stretch int) {
	b = clamp(b)
	q := &f.pieces[f.to(b)]
	if q.perKW == 0 {
		return math.Inf(1), int(q.stretch)
	}
	return q.at(b), int(q.stretch)
}

// Stretches returns how many stretches places without power cut the curve
// into; 1 where power flows everywhere.
func (f *Func) Stretches() int { return int(f.pieces[len(f.pieces)-1].stretch) + 1 }

// SoCAfter returns the SoC after charging for so many seconds from a SoC: the
// exact inverse of TimeS. It stops where power ends, at the latest at 1.
func (f *Func) SoCAfter(from, seconds float64) float64 {
	from = clamp(from)
	i := f.from(from)
	a := &f.pieces[i]
	if !(seconds > 0) || a.perKW == 0 {
		return from
	}
	target := a.at(from)
	if math.IsInf(target, -1) {
		return from
	}
	target += seconds
	for f.pieces[i].toS <= target {
		if i+1 == len(f.pieces) || f.pieces[i+1].stretch != a.stretch {
			return f.pieces[i].toSoC
		}
		i++
	}
	return math.Max(f.pieces[i].socAt(target), from)
}

// SoCBefore returns the SoC from which charging for so many seconds ends at
// to: the inverse of SoCAfter in its first argument. It stops where power
// begins, at the lowest at 0.
func (f *Func) SoCBefore(to, seconds float64) float64 {
	to = clamp(to)
	i := f.to(to)
	b := &f.pieces[i]
	if !(seconds > 0) || b.perKW == 0 {
		return to
	}
	target := b.at(to)
	if math.IsInf(target, 1) {
		return to
	}
	target -= seconds
	for f.pieces[i].fromS >= target {
		if i == 0 || f.pieces[i-1].stretch != b.stretch {
			return f.pieces[i].fromSoC
		}
		i--
	}
	return math.Min(f.pieces[i].socAt(target), to)
}

// ReachSoC returns the highest SoC that charging from a SoC approaches, given
// time without end. Where power tapers linearly to nothing it is never quite
// attained.
func (f *Func) ReachSoC(from float64) float64 {
	return f.SoCAfter(from, math.Inf(1))
}

// clamp brings soc into 0..1; NaN becomes 0.
func clamp(soc float64) float64 {
	if soc >= 1 {
		return 1
	}
	if soc > 0 {
		return soc
	}
	return 0
}
