package main

import (
	"errors"
	"fmt"
	"slices"

	"ampleway/cmd/ampleway/internal/answer"
	"ampleway/route/trip"
	"ampleway/route/year"

	"github.com/spf13/cobra"
)

// yearOptions is the command line of ampleway year.
type yearOptions struct {
	year.Names
	fastPrice float64
	answer    answerFlags
}

// yearExample is a whole household in one file, as the help shows it.
const yearExample = `households:
  ours:
    tariff: night rate
    circuit: {voltage_v: 240, breaker_a: 40}
    cars:
      - class: mid-size-sedan          # or a car file: ampleway car new
        home_from: "18:30"
        home_until: "07:00"
        daily_km: {mo: 60, tu: 60, we: 60, th: 60, fr: 60, sa: 20, su: 20}
        road_kmh: 55
    trips:                             # there and back
      - {name: the lake, distance_km: 250, road_kmh: 95, times: 6, stay_days: 2}
    fuel_car: {miles_per_gallon: 31, price_per_gallon: 3.60, currency: USD}
tariffs:
  night rate:
    currency: USD
    per_kwh: 0.19
    periods:
      - {from: "23:00", to: "06:00", per_kwh: 0.09}
climate:
  place: Home
  elevation_m: 180
  months:
    - {month: 1, night_c: -6, day_c: 2, wind_kmh: 16, wind_from_deg: 290}
    - {month: 2, night_c: -5, day_c: 4, wind_kmh: 16, wind_from_deg: 290}
    - {month: 3, night_c: 0, day_c: 10, wind_kmh: 17, wind_from_deg: 280}
    - {month: 4, night_c: 5, day_c: 17, wind_kmh: 16, wind_from_deg: 260}
    - {month: 5, night_c: 10, day_c: 22, wind_kmh: 13, wind_from_deg: 240}
    - {month: 6, night_c: 15, day_c: 27, wind_kmh: 11, wind_from_deg: 230}
    - {month: 7, night_c: 18, day_c: 29, wind_kmh: 10, wind_from_deg: 230}
    - {month: 8, night_c: 17, day_c: 28, wind_kmh: 10, wind_from_deg: 230}
    - {month: 9, night_c: 13, day_c: 24, wind_kmh: 11, wind_from_deg: 240}
    - {month: 10, night_c: 7, day_c: 17, wind_kmh: 13, wind_from_deg: 260}
    - {month: 11, night_c: 1, day_c: 9, wind_kmh: 15, wind_from_deg: 280}
    - {month: 12, night_c: -4, day_c: 3, wind_kmh: 16, wind_from_deg: 290}
`

func newYearCommand() *cobra.Command {
	o := &yearOptions{Names: year.Names{Year: 2026}}
	c := &cobra.Command{
		Use:   "year",
		Short: "Explain a year: charging at home plus fast stops on journeys",
		Long: `Explain a year of one household: how much energy comes from home, how many
hours go to fast chargers, what it costs by month, and how the same year would
be on another circuit, without charging at home, or in a fuel car.

Without a file, an invented household of the demo is shown. Your own is one YAML
file with the household and, if they are not in files of their own, its tariff
and the weather of its place. A journey goes along a route file (route:
lake.gpx, with the station files under stations: or --stations), or is only a
distance, as in this example. data/demo/households.yaml explains every key.

` + yearExample + `
Without weather of your own the demo's is taken, an invented place, and the
first sentence says so. A price that is not known is never counted as zero.

Circuit figures are arithmetic, not a design: the local electrical code
applies and a licensed electrician decides.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.Households, "households", "", "file of households, which may hold tariffs and climate as well (default: the demo's)")
	f.StringVar(&o.Household, "household", "", "which household of the file")
	f.StringVar(&o.Tariffs, "tariffs", "", "file of tariffs (default: those of the file of households, else the demo's)")
	f.StringVar(&o.Climate, "climate", "", "file of the weather by month (default: that of the file of households, else the demo's)")
	f.StringArrayVar(&o.Stations, "stations", nil, "station file for the journeys (repeatable; default: those that the household names, else the demo's)")
	f.Float64Var(&o.fastPrice, "fast-price", 0, "price of a kWh at a fast charger on ordinary days and on journeys by distance, in the tariff's currency (default: the median of the stations)")
	f.StringArrayVar(&o.Rates, "rate", nil, "what another currency is worth in the tariff's: JPY=0.0061EUR (repeatable)")
	f.IntVar(&o.Year, "year", o.Year, "calendar year, which decides the weekdays")
	o.answer.add(f, answer.Year{}, "")
	return c
}

func (o *yearOptions) run(c *cobra.Command) error {
	if err := o.answer.check(answer.Year{}); err != nil {
		return err
	}
	if c.Flags().Changed("fast-price") {
		o.FastPrice = &o.fastPrice
	}
	in, note, err := o.Inputs()
	if err != nil {
		return err
	}
	remark(c, in.Notes)
	defer tell(c.ErrOrStderr(), "working out the year")()
	result, err := year.Work(in)
	var why *trip.NoPlan
	if errors.As(err, &why) {
		fmt.Fprintln(c.ErrOrStderr(), err)
		if i := slices.IndexFunc(why.Remedies, func(r trip.Remedy) bool { return r.Inlet != "" }); i >= 0 {
			fmt.Fprintf(c.ErrOrStderr(), "In a file of households the inlet stands with the car: connector: [%s]\n", why.Remedies[i].Inlet)
		}
		return errNoPlan
	}
	if err != nil {
		return err
	}
	return o.answer.write(c, answer.Year{Result: result}, answer.Options{Note: note})
}
