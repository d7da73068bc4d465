package fit

// PreparedPiece is a piece of a cleaned drive, for tests that compare with
// other estimators on the same data.
type PreparedPiece struct{ TimeS, SpeedMS, PowerKW, ClimateKW float64 }

// Prepared cleans a log of a drive as Fit does.
func Prepared(l *Log) ([]PreparedPiece, error) {
	t, refusal := prepare(l)
	if refusal != nil {
		return nil, refusal
	}
	var out []PreparedPiece
	for _, run := range t.runs {
		for _, p := range run {
			out = append(out, PreparedPiece{p.timeS, p.speedMS, p.powerKW, p.climateKW})
		}
	}
	return out, nil
}
