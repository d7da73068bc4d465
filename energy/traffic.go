package energy

// Stop-and-go: how much acceleration a metre of road holds against its mean
// speed. stopAndGoMS2 is the speed gained in v²/2 per metre near standstill,
// falling evenly to nothing at freeFlowMS. The two were fitted to HWFET, UDDS,
// US06 and the WLTC, each reduced to its mean speeds over 1 km (see the tests);
// a steady country road below freeFlowMS takes less than this.
const (
	stopAndGoMS2 = 0.34
	freeFlowMS   = 75 * metreSPerKMH
)

// stopAndGoJ is the battery energy of the braking and accelerating that a mean
// travel speed hides: kinetic energy drawn at the drive efficiency and given
// back at the regenerative one. The travel speed is below freeFlowMS.
func (d *drive) stopAndGoJ(travelMS, lengthM float64) float64 {
	gainedMS2 := stopAndGoMS2 * (1 - travelMS/freeFlowMS)
	return d.inertiaKg * gainedMS2 * lengthM * max(0, d.driveFactor-d.regenFactor)
}
