package energy

// HaltKWh returns the battery energy in kWh of one stop on the way: braking
// from a speed in m/s with what regeneration gives back, and accelerating to
// it again. Road load on the way is that of the road, which is driven anyhow.
// The error is a *fault.Input for conditions out of range.
func HaltKWh(car *Car, cond Conditions, speedMS float64) (float64, error) {
	d, err := newDrive(car, &cond)
	if err != nil {
		return 0, err
	}
	speedMS = min(max(speedMS, 0), d.topSpeedMS)
	kineticJ := d.inertiaKg * speedMS * speedMS / 2
	return kineticJ * max(0, d.driveFactor-d.regenFactor) / joulePerKWh, nil
}

// StandingKW returns the power in kW that the car draws at standstill with the
// cabin at temperature: auxiliaries, climate and battery cooling. At a charger
// it comes off what the battery gets. The error is a *fault.Input for
// conditions out of range.
func StandingKW(car *Car, cond Conditions) (float64, error) {
	d, err := newDrive(car, &cond)
	if err != nil {
		return 0, err
	}
	return d.load.steadyW / 1000, nil
}
