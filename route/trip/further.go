package trip

import "ampleway/stations"

// Excess is the share above the estimate that consumption on no leg of so many
// exceeds, with the given probability, 0..MostConfidence.
func (d *Drive) Excess(confidence float64, legs int) float64 {
	return NewSpread(d.Car.PlanSpread()).excess(confidence, legs)
}

// ChargersAt returns what chargers at the given passes would be to this drive.
// The error is about a pass that the car or the driver cannot use.
func (d *Drive) ChargersAt(passes []Pass) ([]Charger, error) {
	out := make([]Charger, len(passes))
	airs := newAirs(d)
	for i, pass := range passes {
		offer, verdict := d.judge(pass.Site)
		if verdict != stations.Taken {
			return nil, &Unusable{verdict}
		}
		var err error
		if out[i], err = airs.charger(pass, offer); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Unusable says why a drive does not use a site.
type Unusable struct{ Why stations.Verdict }

// Error gives the reason.
func (u *Unusable) Error() string { return "trip: not used: " + string(u.Why) }
