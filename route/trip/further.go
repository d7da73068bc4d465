package trip

import "ampleway/stations"

// Excess is the share above the estimate that consumption on no leg of so many
// exceeds, with the given probability, 0..MostConfidence.
func (d *Drive) Excess(confidence float64, legs int) float64 {
	return NewSpread(d.Car.PlanSpread()).excess(confidence, legs)
}

// ChargersAt returns what chargers at the given passes would be to this drive,
// nil for one that the car or the driver does not use.
func (d *Drive) ChargersAt(passes []Pass) ([]*Charger, error) {
	out := make([]*Charger, len(passes))
	airs := newAirs(d)
	for i, pass := range passes {
		offer, verdict := d.judge(pass.Site)
		if verdict != stations.Taken {
			continue
		}
		c, err := airs.charger(pass, offer)
		if err != nil {
			return nil, err
		}
		out[i] = &c
	}
	return out, nil
}
