package year

import "ampleway/route/trip"

// Credits says whose data a year is made from and under which licence, one
// sentence a licence: the roads and stations of its journeys, and the stations
// that the price on ordinary days is from.
func (r *Result) Credits() []string {
	var plans []*trip.Plan
	for _, j := range r.Journeys {
		for _, run := range j.Runs {
			if run.Visit != nil {
				plans = append(plans, run.Visit.Plans...)
			}
		}
	}
	out := trip.Credits(plans...)
	if r.Inputs.MedianPrice {
		out = append(out, trip.StationCredits("Price on ordinary days", r.Inputs.Index.Set())...)
	}
	return out
}
