package energy

// stopAndGoJ is the battery energy of braking and accelerating that a mean
// speed hides.
func (d *drive) stopAndGoJ(speedMS, lengthM float64) float64 {
	return 0
}
