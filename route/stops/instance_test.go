package stops_test

import (
	"math/rand/v2"

	"ampleway/energy/taper"
	"ampleway/route/stops"
)

// curves are invented tapers: falling, stepped, dipped, rising at first.
var curves = []taper.Curve{
	curve(0, 130, 0.3, 150, 0.5, 110, 0.7, 80, 0.8, 55, 0.9, 30, 1, 6),
	curve(0, 69, 0.57, 69, 0.57, 57, 0.72, 57, 0.72, 37, 0.78, 37, 0.78, 25, 0.92, 25, 0.92, 10, 1, 10),
	curve(0, 233, 0.46, 233, 0.47, 186, 0.58, 116, 0.63, 30, 0.66, 191, 0.78, 62, 0.82, 6, 0.92, 50, 1, 20),
	curve(0, 40, 0.2, 90, 0.55, 90, 1, 15),
	curve(0, 200, 0.1, 250, 0.2, 240, 0.3, 210, 0.4, 180, 0.5, 150, 0.6, 120, 0.7, 90, 0.8, 60, 0.9, 30, 0.95, 15, 1, 5),
}

// curve makes a curve of pairs of SoC and kW.
func curve(pairs ...float64) taper.Curve {
	var c taper.Curve
	for i := 0; i < len(pairs); i += 2 {
		c = append(c, taper.Point{SoC: pairs[i], PowerKW: pairs[i+1]})
	}
	return c
}

// features says what random instances contain.
type features struct {
	prices, hills, reserves, detours, speeds, stays, idle, musts, burdens bool
}

// instance draws one trip. The same seed gives the same trip.
func instance(seed uint64, n int, f features) *stops.Problem {
	r := rand.New(rand.NewPCG(seed, 7))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	chance := func(p float64) bool { return r.Float64() < p }
	kWh := between(40, 90)
	p := &stops.Problem{CapacityKWh: kWh, DepartSoC: between(0.5, 1), ReserveSoC: between(0.05, 0.25)}
	own := curves[r.IntN(len(curves))]
	funcs := make([]*taper.Func, 4)
	for i, kW := range []float64{22, 50, 150, 350} {
		c := own.Cap(kW)
		if chance(0.2) {
			c = curves[r.IntN(len(curves))].Cap(kW)
		}
		var err error
		if funcs[i], err = taper.New(c, kWh); err != nil {
			panic(err)
		}
	}
	total := between(0.8, 3.2) * kWh / 0.2 // km at 0.2 kWh/km: 0.8 to 3.2 batteries
	cuts := make([]float64, n)
	for i := range cuts {
		cuts[i] = total * (float64(i) + between(0.1, 0.9)) / float64(n)
	}
	options := 1
	if f.speeds {
		options = 2 + r.IntN(2)
	}
	p.Road = make([][]stops.Leg, options)
	for i, at := 0, 0.0; i <= n; i++ {
		to := total
		if i < n {
			to = cuts[i]
		}
		km, slope := to-at, 0.0
		at = to
		if f.hills && chance(0.5) {
			slope = between(-0.45, 0.25)
		}
		loose := between(0, 0.3)
		for o := range p.Road {
			speed := 110 - 20*float64(o)
			use := 0.2 * (0.4 + 0.6*speed*speed/12100)
			p.Road[o] = append(p.Road[o], leg(km, speed, use+slope*0.2*3, loose, kWh, f.hills))
		}
	}
	for i := range n {
		c := stops.Charger{OverheadS: between(60, 420), Power: funcs[r.IntN(4)], ReserveSoC: p.ReserveSoC}
		if chance(0.3) {
			c.CeilingSoC = between(0.7, 1)
		}
		if f.reserves {
			c.ReserveSoC = between(0, 0.3)
		}
		if f.detours && chance(0.7) {
			km := between(0, 6)
			c.In, c.Out = leg(km, 50, 0.2, 0, kWh, false), leg(km, 50, 0.2, 0, kWh, false)
			if f.hills && chance(0.3) {
				c.In, c.Out = leg(km, 50, 0.6, 0, kWh, false), leg(km, 50, -0.3, 0.2, kWh, true)
			}
		}
		if f.prices && chance(0.8) {
			c.Price = stops.Price{PerKWh: between(0, 0.8)}
			if chance(0.3) {
				c.Price = stops.Price{PerMinute: between(0, 0.5), PerSession: between(0, 2)}
			}
		}
		if f.stays && chance(0.5) {
			c.LeastStayS = between(0, 1500)
		}
		if f.stays && chance(0.3) {
			c.MostStayS = c.LeastStayS + between(300, 2400)
		}
		if f.idle && chance(0.5) {
			c.Price.IdlePerMinute, c.Price.IdleAfterS = between(0, 1), between(0, 1800)
		}
		if f.musts && i == n/2 {
			c.Use = stops.MustStop
		}
		if f.musts && i == n/3 {
			c.Use = stops.MustPass
		}
		p.Chargers = append(p.Chargers, c)
	}
	if f.burdens {
		burden := rand.New(rand.NewPCG(seed, 11))
		for i := range p.Chargers {
			p.Chargers[i].BurdenS = 900 * burden.Float64()
		}
	}
	if f.prices {
		p.Objective = stops.Objective{Goal: stops.Goal(r.IntN(4)), MoneyPerHour: between(1, 40)}
	}
	return p
}

// leg drives km at a speed and a consumption in kWh/km. On hills it may climb
// first (need above cost) or meet a full battery (cap).
func leg(km, kmh, use, loose, kWh float64, hills bool) stops.Leg {
	l := stops.Leg{TimeS: km / kmh * 3600, CostKWh: km * use, NeedKWh: max(0, km*use)}
	if hills {
		l.NeedKWh += loose * km * 0.2
		l.CapKWh = max(0.3*kWh, kWh-max(0, l.CostKWh)*loose)
	}
	return l
}
