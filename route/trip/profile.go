package trip

import (
	"math"
	"sort"

	"ampleway/energy"
)

// Profile is the time and the energy of a Drive along its road: one
// energy.Profile or, where the temperature follows the hours, several of the
// same road, each from a chainage on. It is safe for concurrent use.
type Profile struct {
	parts []*energy.Profile
	fromM []float64 // of each part; the first is 0
	kWh   []float64 // drawn before each part
}

// newProfile drives a car along steps, each stretch of air at its temperature.
func newProfile(car *energy.Car, cond energy.Conditions, steps []energy.Step, air []airPart) (*Profile, error) {
	if len(air) == 0 {
		air = []airPart{{}}
	}
	p := &Profile{}
	made := map[float64]*energy.Profile{}
	for i, a := range air {
		at := cond
		at.TempC += a.warmerC
		part, ok := made[a.warmerC]
		if !ok {
			var err error
			if part, err = energy.NewProfile(car, at, steps); err != nil {
				return nil, err
			}
			made[a.warmerC] = part
		}
		before := 0.0
		if i > 0 {
			before = p.EnergyKWh(a.fromM)
		}
		p.parts, p.fromM, p.kWh = append(p.parts, part), append(p.fromM, a.fromM), append(p.kWh, before)
	}
	return p, nil
}

// LengthM returns the length of the road in m.
func (p *Profile) LengthM() float64 { return p.parts[0].LengthM() }

// CapacityKWh returns the usable energy of the battery.
func (p *Profile) CapacityKWh() float64 { return p.parts[0].CapacityKWh() }

// TimeS returns the driving time in s from the start to a chainage in m.
func (p *Profile) TimeS(chainageM float64) float64 { return p.parts[0].TimeS(chainageM) }

// EnergyKWh returns the battery energy in kWh drawn from the start to a
// chainage in m, negative where a descent has given more back.
func (p *Profile) EnergyKWh(chainageM float64) float64 {
	i := p.part(chainageM)
	if i == 0 {
		return p.parts[0].EnergyKWh(chainageM)
	}
	return p.kWh[i] + p.parts[i].EnergyKWh(chainageM) - p.parts[i].EnergyKWh(p.fromM[i])
}

// part is the last that begins before a chainage.
func (p *Profile) part(chainageM float64) int {
	if len(p.parts) == 1 {
		return 0
	}
	return max(sort.SearchFloat64s(p.fromM, chainageM)-1, 0)
}

// Leg returns the leg between two chainages in m; see energy.Profile.Leg.
func (p *Profile) Leg(fromM, toM float64) energy.Leg {
	first, last := p.part(fromM), p.part(toM)
	if first == last {
		return p.parts[first].Leg(fromM, toM)
	}
	leg := p.parts[first].Leg(fromM, p.fromM[first+1])
	for i := first + 1; i <= last; i++ {
		endM := toM
		if i < last {
			endM = math.Min(toM, p.fromM[i+1])
		}
		leg = leg.Then(p.parts[i].Leg(p.fromM[i], endM))
	}
	return leg
}
