package fit

import (
	"fmt"
	"math"
	"slices"

	"ampleway/energy"
	"ampleway/energy/taper"
)

// Taper is a charging curve found in logs of DC charges.
type Taper struct {
	Charges  int           `json:"charges"`
	Points   []TaperPoint  `json:"points"`
	Sessions []ChargeCheck `json:"sessions"`

	fromSoC, toSoC float64
	car            *energy.Car
}

// TaperPoint is the power into the battery at one state of charge, with the
// 95 % interval of the median that it is.
type TaperPoint struct {
	SoCPct  float64 `json:"soc_pct"`
	PowerKW float64 `json:"power_kw"`
	LowKW   float64 `json:"low_95_kw"`
	HighKW  float64 `json:"high_95_kw"`
}

// ChargeCheck compares one charge with the curve.
type ChargeCheck struct {
	Name        string  `json:"charge"`
	FromPct     float64 `json:"from_soc_pct"`
	ToPct       float64 `json:"to_soc_pct"`
	ChargedKWh  float64 `json:"charged_kwh"` // at the battery
	RecordedMin float64 `json:"recorded_min"`
	ComputedMin float64 `json:"computed_min"` // by the curve, with the charge's own kWh for each % of SoC
}

const (
	standingMS   = 0.5  // mean speed below which a car stands
	chargingKW   = 1.0  // mean power above which it charges
	binSoC       = 0.02 // width of the bins of state of charge
	rampS        = 60.0 // start of a charge, while the station ramps up
	pauseKW      = 0.5  // power below which a charge pauses
	blockS       = 10.0 // time that counts as one independent figure
	chargeGapS   = 60.0 // a longer step between rows is a gap
	leastSpanSoC = 0.20
)

// isCharge tells the log of a charge from that of a drive.
func isCharge(l *Log) bool {
	speed := meanOf(l.Samples, fields[chSpeed])
	return !(speed > standingMS) && meanOf(l.Samples, fields[chPower]) < -chargingKW
}

// bin holds the charging powers of one charge at one state of charge.
type bin struct {
	powers []float64
	timeS  float64
}

type charge struct {
	log     *Log
	bins    map[int]*bin
	fromSoC float64
	toSoC   float64
	kWh     float64
	chargeS float64 // from the first to the last state of charge, without pauses
	socs    int
}

// fitTaper takes, for every 2 % of SoC, the median power of each charge and
// of those the highest: a charge behind a weak station shows the station, not
// the car.
func fitTaper(charges []*charge, car *energy.Car) (*Taper, error) {
	t := &Taper{Charges: len(charges), car: car}
	best := map[int]TaperPoint{}
	for _, c := range charges {
		for k, b := range c.bins {
			if b.timeS < blockS {
				continue
			}
			if p := b.point(k); p.PowerKW > best[k].PowerKW {
				best[k] = p
			}
		}
	}
	for _, p := range best {
		t.Points = append(t.Points, p)
	}
	slices.SortFunc(t.Points, func(a, b TaperPoint) int { return int(math.Round(a.SoCPct - b.SoCPct)) })
	if n := len(t.Points); n < int(leastSpanSoC/binSoC) {
		return nil, &CannotTell{Reason: fmt.Sprintf("the charges show %d steps of 2 %% of SoC only", n), Need: fmt.Sprintf("a span of %.0f %% recorded throughout", 100*leastSpanSoC)}
	}
	t.fromSoC, t.toSoC = t.Points[0].SoCPct/100, t.Points[len(t.Points)-1].SoCPct/100
	return t, t.check(charges)
}

func readCharge(l *Log, car *energy.Car) (*charge, *CannotTell) {
	samples := append([]Sample(nil), l.Samples...)
	bridge(samples)
	c := &charge{log: l, bins: map[int]*bin{}, fromSoC: math.NaN()}
	for i := 1; i < len(samples); i++ {
		c.add(samples[0].TimeS, &samples[i-1], &samples[i])
	}
	peak := 0.0
	for _, b := range c.bins {
		peak = max(peak, median(slices.Clone(b.powers)))
	}
	switch {
	case c.socs == 0:
		return nil, &CannotTell{Log: l.Name, Reason: "it is a charge without a state of charge", Need: "a column soc_pct"}
	case !(c.toSoC-c.fromSoC >= leastSpanSoC):
		return nil, &CannotTell{Log: l.Name, Reason: fmt.Sprintf("the charge goes from %.0f to %.0f %%", 100*c.fromSoC, 100*c.toSoC), Need: fmt.Sprintf("a span of %.0f %%", 100*leastSpanSoC)}
	case peak <= 1.1*car.AC.PowerKW:
		return nil, &CannotTell{Log: l.Name, Reason: fmt.Sprintf("the charge stays at or below %.1f kW, as much as the car's AC charger gives", peak), Need: "a DC charge"}
	}
	return c, nil
}

func (c *charge) add(startS float64, from, to *Sample) {
	step := to.TimeS - from.TimeS
	kW := -(from.PowerKW + to.PowerKW) / 2
	soc := (from.SoC + to.SoC) / 2
	if math.IsNaN(kW+soc) || step > chargeGapS || kW < pauseKW {
		return
	}
	c.socs++
	if math.IsNaN(c.fromSoC) {
		c.fromSoC = from.SoC
	}
	c.toSoC = min(to.SoC, 1)
	c.kWh += kW * step / 3600
	c.chargeS += step
	if to.TimeS-startS < rampS {
		return
	}
	k := int(math.Floor(min(soc, 1-binSoC/2) / binSoC))
	b := c.bins[k]
	if b == nil {
		b = &bin{}
		c.bins[k] = b
	}
	b.powers = append(b.powers, kW)
	b.timeS += step
}

// point is the median with its interval by order statistics (Conover,
// Practical Nonparametric Statistics, 1999, sect. 3.2), the figures of blockS
// counting as one.
func (b *bin) point(k int) TaperPoint {
	x := slices.Sorted(slices.Values(b.powers))
	n := float64(len(x))
	blocks := min(max(b.timeS/blockS, 1), n)
	share := 1.96 * 0.5 / math.Sqrt(blocks)
	at := func(q float64) float64 { return x[int(min(max(math.Floor(q*n), 0), n-1))] }
	return TaperPoint{
		SoCPct: 100 * binSoC * (float64(k) + 0.5), PowerKW: median(x),
		LowKW: at(0.5 - share), HighKW: at(0.5 + share),
	}
}

// curve is the car's taper: as found where the charges show it, beyond that
// the shape of the given car, scaled to join.
func (t *Taper) curve() taper.Curve {
	var found taper.Curve
	for _, p := range t.Points {
		found = append(found, taper.Point{SoC: p.SoCPct / 100, PowerKW: p.PowerKW})
	}
	first, last := found[0], found[len(found)-1]
	var out taper.Curve
	for _, p := range t.car.Taper {
		if p.SoC < first.SoC {
			out = append(out, taper.Point{SoC: p.SoC, PowerKW: p.PowerKW * ratio(first.PowerKW, t.car.Taper.PowerKW(first.SoC))})
		}
	}
	out = append(out, found...)
	for _, p := range t.car.Taper {
		if p.SoC > last.SoC {
			out = append(out, taper.Point{SoC: p.SoC, PowerKW: p.PowerKW * ratio(last.PowerKW, t.car.Taper.PowerKW(last.SoC))})
		}
	}
	return out
}

func ratio(a, b float64) float64 {
	if b <= 0 {
		return 1
	}
	return a / b
}

// check computes every charge with the curve.
func (t *Taper) check(charges []*charge) error {
	for _, c := range charges {
		capacity := c.kWh / (c.toSoC - c.fromSoC)
		f, err := taper.New(t.curve(), capacity)
		if err != nil {
			return &CannotTell{Log: c.log.Name, Reason: "the charge makes no curve: " + err.Error()}
		}
		t.Sessions = append(t.Sessions, ChargeCheck{
			Name: c.log.Name, FromPct: 100 * c.fromSoC, ToPct: 100 * c.toSoC, ChargedKWh: c.kWh,
			RecordedMin: c.chargeS / 60, ComputedMin: f.TimeS(c.fromSoC, c.toSoC) / 60,
		})
	}
	return nil
}

// warnings say where the curve may be the station's rather than the car's.
func (t *Taper) warnings() []string {
	var out []string
	peak := 0.0
	for _, p := range t.Points {
		peak = max(peak, p.PowerKW)
	}
	first, last := -1, -1
	for i, p := range t.Points {
		if p.PowerKW >= flatShare*peak {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if from, to := t.Points[first].SoCPct, t.Points[last].SoCPct; to-from >= 100*leastSpanSoC {
		out = append(out, fmt.Sprintf("power is flat near %.0f kW from %.0f to %.0f %%: there the station or its cable may be the limit, not the car", peak, from, to))
	}
	out = append(out, fmt.Sprintf("the curve is seen from %.0f to %.0f %%; beyond, the shape of the given car is joined on", 100*t.fromSoC, 100*t.toSoC))
	return out
}

const flatShare = 0.97
