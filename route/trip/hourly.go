package trip

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/energy"
	"ampleway/route/question"
	"ampleway/route/stops"
)

const minutesADay = 24 * 60

// HourlyTemp is the air temperature by the clock: points of a day, linear
// between them, the last leading on to the first. It repeats every day.
type HourlyTemp []TempPoint

// TempPoint is a temperature at a time of day.
type TempPoint struct {
	Min   float64 // minutes after midnight, 0..1440
	TempC float64
}

// ParseHourlyTemp reads 24 temperatures in °C, for 00:00 to 23:00, or points
// such as "6:-3, 14:30:4, 22:-5", both separated by commas.
func ParseHourlyTemp(text string) (HourlyTemp, error) {
	bad := &fault.Input{Field: "temp_by_hour", Found: text, Expected: `24 temperatures, or times of day with one such as "06:00=-3,14:30=4,22:00=-5", °C, -60 to 60`}
	parts := strings.Split(text, ",")
	var out HourlyTemp
	for i, part := range parts {
		clock, figure, timed := strings.Cut(strings.TrimSpace(part), "=")
		p := TempPoint{Min: float64(60 * i)}
		if timed {
			at, err := time.Parse("15:04", strings.TrimSpace(clock))
			if err != nil {
				return nil, bad
			}
			p.Min = float64(60*at.Hour() + at.Minute())
		} else if figure = clock; len(parts) != 24 {
			return nil, bad
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(figure), 64)
		if err != nil || !(math.Abs(v) <= 60) {
			return nil, bad
		}
		p.TempC = v
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b TempPoint) int { return cmp.Compare(a.Min, b.Min) })
	for i := 1; i < len(out); i++ {
		if out[i].Min == out[i-1].Min {
			return nil, bad
		}
	}
	return out, nil
}

// At is the temperature at a time of day, in its own zone.
func (h HourlyTemp) At(t time.Time) float64 {
	minute := float64(60*t.Hour()+t.Minute()) + (float64(t.Second())+float64(t.Nanosecond())/1e9)/60
	next := slices.IndexFunc(h, func(p TempPoint) bool { return p.Min > minute })
	before := next - 1
	if next < 0 {
		next, before = 0, len(h)-1
	}
	if before < 0 {
		before = len(h) - 1
	}
	a, b := h[before], h[next]
	spanMin, sinceMin := math.Mod(b.Min-a.Min+minutesADay, minutesADay), math.Mod(minute-a.Min+minutesADay, minutesADay)
	if spanMin == 0 {
		return a.TempC
	}
	return a.TempC + (b.TempC-a.TempC)*sinceMin/spanMin
}

// between returns the lowest and the highest temperature from one time to
// another.
func (h HourlyTemp) between(from, to time.Time) (low, high float64) {
	a, b := h.At(from), h.At(to)
	low, high = min(a, b), max(a, b)
	midnight := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, from.Location())
	for day := midnight; !day.After(to); day = day.AddDate(0, 0, 1) {
		for _, p := range h {
			if at := day.Add(time.Duration(p.Min * float64(time.Minute))); at.After(from) && at.Before(to) {
				low, high = min(low, p.TempC), max(high, p.TempC)
			}
		}
	}
	return low, high
}

// airPart is a stretch of road with an air of its own.
type airPart struct {
	fromM   float64
	warmerC float64 // than Conditions.TempC
}

// warmerC is what the air at a chainage is warmer than Conditions.TempC.
func warmerC(air []airPart, chainageM float64) float64 {
	out := 0.0
	for _, a := range air {
		if a.fromM <= chainageM {
			out = a.warmerC
		}
	}
	return out
}

// mirrored is the air along the road driven the other way.
func mirrored(air []airPart, lengthM float64) []airPart {
	var out []airPart
	endM := lengthM
	for _, a := range slices.Backward(air) {
		out = append(out, airPart{lengthM - endM, a.warmerC})
		endM = a.fromM
	}
	return out
}

// airSpan is how much of the clock one airPart covers.
const airSpan = 15 * time.Minute

// mostSchedules is how often a plan by hourly temperatures is made anew for the
// schedule that comes of it.
const mostSchedules = 6

// planByHour plans with g.TempByHour. The schedule of a plan says when each
// part of the road is driven, and so at which temperature; the plan made for
// that has another schedule. From the schedule of driving without a stop it is
// made anew until the schedule it was made for is its own, within sameAirC.
//
// The approximation: a quarter of an hour of the schedule has one temperature,
// of those in it the one at which the car takes more, and a charger's power
// and detour are taken at that of the quarter in which it is passed. A plan
// counts only if, driven once more at the temperatures of its own schedule,
// with the excess that its confidence asks for, every reserve holds. Where none
// of mostSchedules does, the whole road is taken at the temperature of the day,
// from departure on, at which it takes most.
func (d *Drive) planByHour(planner *stops.Planner, g Goal) (*Plan, error) {
	temps := g.TempByHour
	g.TempByHour = nil
	drive, err := d.underAir(temps, g, d.nonstop())
	if err != nil {
		return nil, err
	}
	for range mostSchedules {
		p, err := drive.Plan(planner, g)
		if errors.Is(err, stops.ErrNoPlan) {
			break
		}
		if err != nil {
			return nil, err
		}
		own, err := d.underAir(temps, p.Goal, p.Track)
		if err != nil {
			return nil, err
		}
		redriven := p.strays(own, p.Goal.startSoC(), p.Goal.endSoC(), p.Goal.Excess)
		if sameAir(drive.Options.air, own.Options.air, p.Track) && redriven.Holds() {
			p.Goal.TempByHour = temps
			return p, nil
		}
		drive = own
	}
	hardest, err := d.hardest(temps, g)
	if err != nil {
		return nil, err
	}
	p, err := hardest.Plan(planner, g)
	if err == nil {
		p.Goal.TempByHour = temps
	}
	return p, err
}

// nonstop is the schedule of driving without a stop.
func (d *Drive) nonstop() []TrackPoint {
	var out []TrackPoint
	lengthM := d.Profile.LengthM()
	for pieces, i := math.Ceil(lengthM/trackStepM), 0.0; i <= pieces; i++ {
		atM := lengthM * i / pieces
		out = append(out, TrackPoint{ChainageM: atM, TimeS: d.Profile.TimeS(atM)})
	}
	return out
}

// sameAirC is a difference of temperature that makes no other plan.
const sameAirC = 0.5

func sameAir(a, b []airPart, at []TrackPoint) bool {
	for _, t := range at {
		if math.Abs(warmerC(a, t.ChainageM)-warmerC(b, t.ChainageM)) > sameAirC {
			return false
		}
	}
	return true
}

// underAir is the drive at the temperatures of a schedule. The air of
// Conditions is that at departure.
func (d *Drive) underAir(temps HourlyTemp, g Goal, schedule []TrackPoint) (*Drive, error) {
	cond, o := d.still(temps.At(g.Depart)), d.Options
	var air []airPart
	for i := 0; i < len(schedule)-1; {
		end := i + 1
		for end < len(schedule)-1 && schedule[end].TimeS-schedule[i].TimeS < airSpan.Seconds() {
			end++
		}
		low, high := temps.between(g.Depart.Add(seconds(schedule[i].TimeS)), g.Depart.Add(seconds(schedule[end].TimeS)))
		part := airPart{schedule[i].ChainageM, low - cond.TempC}
		if high != low {
			harder, err := d.harder(cond, part.fromM, schedule[end].ChainageM, low, high)
			if err != nil {
				return nil, err
			}
			part.warmerC = harder - cond.TempC
		}
		if n := len(air); n > 0 && air[n-1].warmerC == part.warmerC {
			i = end
			continue
		} else if n > 0 && air[n-1].fromM == part.fromM {
			air = air[:n-1] // a stop
		}
		air = append(air, part)
		i = end
	}
	o.air = air
	return NewDrive(d.Corridor, d.Car, cond, o)
}

// harder is of two temperatures the one at which a stretch takes more.
func (d *Drive) harder(cond energy.Conditions, fromM, toM, lowC, highC float64) (float64, error) {
	steps := d.road()
	cond.TempC = lowC
	low, err := energy.NewProfile(d.Car, cond, steps)
	if err != nil {
		return 0, err
	}
	cond.TempC = highC
	high, err := energy.NewProfile(d.Car, cond, steps)
	if err != nil {
		return 0, err
	}
	if high.EnergyKWh(toM)-high.EnergyKWh(fromM) > low.EnergyKWh(toM)-low.EnergyKWh(fromM) {
		return highC, nil
	}
	return lowC, nil
}

// hardest is the drive at one temperature, that of the day at which it takes
// most.
func (d *Drive) hardest(temps HourlyTemp, g Goal) (*Drive, error) {
	low, high := temps.between(g.Depart, g.Depart.Add(24*time.Hour))
	cond, o := d.still(temps.At(g.Depart)), d.Options
	harder, err := d.harder(cond, 0, d.Profile.LengthM(), low, high)
	if err != nil {
		return nil, err
	}
	o.air = []airPart{{0, harder - cond.TempC}}
	return NewDrive(d.Corridor, d.Car, cond, o)
}

// still are the drive's conditions in other air.
func (d *Drive) still(tempC float64) energy.Conditions {
	cond := d.Conditions
	follows := cond.RegenShare == d.Options.regenShare(cond)
	cond.TempC = tempC
	if follows {
		cond.RegenShare = d.Options.regenShare(cond)
	}
	return cond
}

// airs works out what depends on the air at a place once for each temperature.
type airs struct {
	drive *Drive
	made  map[float64]*localAir
}

type localAir struct {
	drive   *Drive // the drive in the air of the place
	offRoad map[int]perMetre
	curves  *curves
}

func newAirs(d *Drive) *airs { return &airs{d, map[float64]*localAir{}} }

func (a *airs) at(chainageM float64) (*localAir, error) {
	warmer := warmerC(a.drive.Options.air, chainageM)
	if made, ok := a.made[warmer]; ok {
		return made, nil
	}
	local := *a.drive
	local.Options.PackTempC, local.Options.PackTempKnown = local.Options.startPackTempC(local.Conditions), true
	local.Conditions.TempC += warmer
	out := &localAir{drive: &local, offRoad: map[int]perMetre{}}
	var err error
	if out.curves, err = newCurves(&local); err != nil {
		return nil, err
	}
	a.made[warmer] = out
	return out, nil
}

// planArrivingByHour is planArriving at hourly temperatures, which change with
// the departure: it is moved by what the trip is late or early until that is
// less than a minute early, mostSchedules times; of those in time the latest
// counts. It is not proven to be the latest of all.
func (d *Drive) planArrivingByHour(planner *stops.Planner, g Goal) (*Plan, error) {
	one := g
	one.TempByHour = nil
	p, err := d.planArriving(planner, one)
	if err != nil {
		return nil, err
	}
	const stepBack = 5 * time.Minute // where moving by the difference goes back and forth
	var best *Plan
	depart := p.Goal.Depart
	for tries := 0; !depart.Before(g.ArriveBy.Add(-arriveWithin)); tries++ {
		at, err := g.leaving(d, depart)
		if err != nil {
			return nil, err
		}
		if p, err = d.Plan(planner, at); err != nil {
			return nil, err
		}
		spare := g.ArriveBy.Sub(depart) - seconds(p.TimeS)
		if spare >= 0 && (best == nil || depart.After(best.Goal.Depart)) {
			best = p
		}
		if best != nil && (spare >= 0 && spare < time.Minute || tries >= mostSchedules) {
			return best, nil
		}
		depart = depart.Add(spare).Truncate(time.Minute)
		if tries >= mostSchedules {
			depart = depart.Add(-stepBack)
		}
	}
	if best != nil {
		return best, nil
	}
	return nil, g.neverThere()
}

// text says what the temperatures are.
func (h HourlyTemp) text(u question.Units) string {
	low, high := h[0].TempC, h[0].TempC
	for _, p := range h {
		low, high = min(low, p.TempC), max(high, p.TempC)
	}
	return fmt.Sprintf("Temperature by the hour, %s to %s: each quarter of an hour is driven at the temperature, of those in it, at which the car takes more.", u.Temperature(low), u.Temperature(high))
}
