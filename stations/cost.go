package stations

import (
	"math"
	"math/big"
	"strconv"
	"time"

	"ampleway/data/money"
)

// Session is one visit as a bill sees it.
type Session struct {
	Start       time.Time // in the site's zone
	Draws       []Draw    // charging, in order, without pause
	IdleMinutes float64   // plugged in after charging has ended
}

// Draw is a stretch of charging. Its mean power decides the band; split a
// charge where its power crosses a band to have it billed exactly.
type Draw struct {
	Minutes   float64
	EnergyKWh float64
}

// PowerKW returns the mean power of a draw, 0 for a draw that takes no time.
func (d Draw) PowerKW() float64 {
	if d.Minutes == 0 {
		return 0
	}
	return d.EnergyKWh * 60 / d.Minutes
}

// Cost returns what a session costs. Figures are taken as the decimals they
// print as and summed as fractions, so nothing is lost to binary rounding
// before the result is rounded to a millionth.
//
// A draw that runs over a change of rates is split there, its energy evenly in
// time. Steps round up as OCPI 2.2.1 bills them (module Tariffs, step_size):
// energy once, and time once, at the rate that held last; where idle time is
// billed it is the idle time that is rounded and charging time is exact.
// Minutes and energy must not be negative or infinite; such a session panics.
func (p *Price) Cost(s Session) money.Amount {
	bill := newBill(p, s)
	total := bill.sum()
	if floor := rat(p.LeastTotal); p.LeastTotal > 0 && total.Cmp(floor) < 0 {
		total = floor
	}
	if ceiling := rat(p.MostTotal); p.MostTotal > 0 && total.Cmp(ceiling) > 0 {
		total = ceiling
	}
	return money.Amount{Micros: micros(total), Currency: p.Currency}
}

// bill adds up a session piece by piece. Every piece has one set of rates.
type bill struct {
	price              *Price
	now                time.Time
	energy, time, idle line
}

// line is a quantity with what it costs so far and its last rate.
type line struct {
	quantity, cost, lastRate *big.Rat
}

func newLine() line { return line{new(big.Rat), new(big.Rat), new(big.Rat)} }

func (l *line) add(quantity, rate *big.Rat) {
	l.quantity.Add(l.quantity, quantity)
	l.cost.Add(l.cost, new(big.Rat).Mul(quantity, rate))
	l.lastRate = rate
}

// roundUp bills the rest of the last step at the last rate.
func (l *line) roundUp(step float64) {
	if step <= 0 || l.quantity.Sign() == 0 {
		return
	}
	size := rat(step)
	steps := new(big.Rat).Quo(l.quantity, size)
	whole := new(big.Int).Div(steps.Num(), steps.Denom())
	if steps.IsInt() {
		return
	}
	full := new(big.Rat).Mul(new(big.Rat).SetInt(whole.Add(whole, big.NewInt(1))), size)
	l.add(full.Sub(full, l.quantity), l.lastRate)
}

func newBill(p *Price, s Session) *bill {
	b := &bill{price: p, now: s.Start, energy: newLine(), time: newLine(), idle: newLine()}
	for _, d := range s.Draws {
		b.draw(d)
	}
	b.rest(s.IdleMinutes)
	b.energy.roundUp(p.StepKWh)
	if b.idle.cost.Sign() > 0 {
		b.idle.roundUp(p.IdleStepMinutes)
	} else {
		b.time.roundUp(p.StepMinutes)
	}
	return b
}

func (b *bill) sum() *big.Rat {
	total := rat(b.price.SessionFee)
	for _, l := range []line{b.energy, b.time, b.idle} {
		total.Add(total, l.cost)
	}
	return total
}

func (b *bill) draw(d Draw) {
	minutes, energy := rat(d.Minutes), rat(d.EnergyKWh)
	if minutes.Sign() == 0 {
		b.energy.add(energy, rat(b.price.At(b.now).PerKWh))
		return
	}
	perMinute := energy.Quo(energy, minutes)
	powerKW := d.PowerKW()
	b.walk(minutes, func(piece *big.Rat, rates Rates) {
		b.energy.add(new(big.Rat).Mul(perMinute, piece), rat(rates.PerKWh))
		b.time.add(piece, rat(rates.MinuteRate(powerKW)))
	})
}

func (b *bill) rest(idleMinutes float64) {
	free := math.Min(idleMinutes, b.price.IdleAfterMinutes)
	b.walk(rat(free), func(*big.Rat, Rates) {})
	b.walk(new(big.Rat).Sub(rat(idleMinutes), rat(free)), func(piece *big.Rat, rates Rates) {
		b.idle.add(piece, rat(rates.IdlePerMinute))
	})
}

// walk advances the clock by minutes and calls visit for each piece between
// changes of rates.
func (b *bill) walk(minutes *big.Rat, visit func(piece *big.Rat, rates Rates)) {
	left := new(big.Rat).Set(minutes)
	for left.Sign() > 0 {
		rates := b.price.At(b.now)
		change, ok := b.price.nextChange(b.now)
		piece := big.NewRat(int64(change.Sub(b.now)), int64(time.Minute))
		if !ok || piece.Cmp(left) >= 0 {
			visit(left, rates)
			b.now = b.now.Add(nanoseconds(left))
			return
		}
		visit(piece, rates)
		left = new(big.Rat).Sub(left, piece)
		b.now = change
	}
}

// nextChange returns the first instant after now at which a period may begin
// or end: its times of day, and midnight, on this day or the next.
func (p *Price) nextChange(now time.Time) (change time.Time, ok bool) {
	consider := func(t time.Time) {
		if t.After(now) && (!ok || t.Before(change)) {
			change, ok = t, true
		}
	}
	for _, period := range p.Periods {
		for day := 0; day <= 1; day++ {
			for _, c := range []Clock{0, period.From, period.To} {
				consider(time.Date(now.Year(), now.Month(), now.Day()+day, int(c)/60, int(c)%60, 0, 0, now.Location()))
			}
		}
	}
	return change, ok
}

func nanoseconds(minutes *big.Rat) time.Duration {
	f, _ := minutes.Float64()
	return time.Duration(math.Round(f * float64(time.Minute)))
}

// rat reads a figure as the decimal it prints as.
func rat(x float64) *big.Rat {
	if !(x >= 0) || math.IsInf(x, 0) {
		panic("stations: a bill needs figures that are zero or positive, found " + strconv.FormatFloat(x, 'g', -1, 64))
	}
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(x, 'g', -1, 64))
	return r
}

// micros rounds to a millionth, halves up, and stays within an int64.
func micros(total *big.Rat) int64 {
	scaled := new(big.Rat).Mul(total, big.NewRat(1e6, 1))
	scaled.Add(scaled, big.NewRat(1, 2))
	whole := new(big.Int).Div(scaled.Num(), scaled.Denom())
	if !whole.IsInt64() {
		return math.MaxInt64
	}
	return whole.Int64()
}
