package data_test

import (
	"slices"
	"testing"
	"time"

	"ampleway/data"
	"ampleway/data/cars"

	"github.com/goccy/go-yaml"
)

func readYAML(t *testing.T, content []byte, into any) {
	t.Helper()
	if err := yaml.UnmarshalWithOptions(content, into, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
}

type trip struct {
	Note                  string
	Corridor              string
	Stations              string
	Car                   string
	DepartAt              time.Time `yaml:"depart"`
	DepartSoCPct          float64   `yaml:"leave_with_pct"`
	ReservePct            float64   `yaml:"reserve_pct"`
	DestinationReservePct float64   `yaml:"arrive_with_pct"`
	TempC                 float64   `yaml:"temp_c"`
	WindKmh               float64   `yaml:"wind_kmh"`
	WindFromDeg           float64   `yaml:"wind_from_deg"`
	Surface               string
	PayloadKg             float64 `yaml:"payload_kg"`
	HalfWidthKm           float64 `yaml:"half_width_km"`
}

func readTrip(t *testing.T) trip {
	t.Helper()
	var v trip
	readYAML(t, data.Trip(), &v)
	return v
}

func TestTripNamesWhatIsThere(t *testing.T) {
	v := readTrip(t)
	if !slices.Contains(data.Corridors(), v.Corridor) {
		t.Errorf("no corridor %s", v.Corridor)
	}
	if !slices.Contains(cars.Names(), v.Car) {
		t.Errorf("no car %s", v.Car)
	}
	if f, err := data.Demo().Open(v.Stations); err != nil {
		t.Error(err)
	} else if err := f.Close(); err != nil {
		t.Error(err)
	}
	if _, offset := v.DepartAt.Zone(); offset != -10*3600 || v.DepartAt.Weekday() != time.Saturday {
		t.Errorf("leaves at %v, want a Saturday in the island's time", v.DepartAt)
	}
}

func TestClimateIsAYear(t *testing.T) {
	var v struct {
		Note        string
		Place       string
		ElevationM  float64 `yaml:"elevation_m"`
		Others      map[string]float64
		LapseCPerKm float64 `yaml:"lapse_c_per_km"`
		Months      []struct {
			Month       int
			NightC      float64 `yaml:"night_c"`
			DayC        float64 `yaml:"day_c"`
			WindKmh     float64 `yaml:"wind_kmh"`
			WindFromDeg float64 `yaml:"wind_from_deg"`
			WetShare    float64 `yaml:"wet_share"`
			SunWPerM2   float64 `yaml:"sun_w_per_m2"`
		}
	}
	readYAML(t, data.Climate(), &v)
	if p := placeNamed(t, v.Place); p.Properties.ElevationM != v.ElevationM {
		t.Errorf("%s lies at %g m, the climate is for %g m", v.Place, p.Properties.ElevationM, v.ElevationM)
	}
	for name, elevationM := range v.Others {
		if p := placeNamed(t, name); p.Properties.ElevationM != elevationM {
			t.Errorf("%s lies at %g m, the climate says %g m", name, p.Properties.ElevationM, elevationM)
		}
	}
	if len(v.Months) != 12 {
		t.Fatalf("%d months", len(v.Months))
	}
	for i, m := range v.Months {
		if m.Month != i+1 || m.NightC >= m.DayC || m.WetShare <= 0 || m.WetShare >= 1 || m.WindFromDeg < 0 || m.WindFromDeg >= 360 || m.WindKmh <= 0 || m.SunWPerM2 <= 0 {
			t.Errorf("month %d: %+v", i+1, m)
		}
	}
	if january, july := v.Months[0], v.Months[6]; january.DayC >= july.NightC {
		t.Error("a January day is warmer than a July night")
	}
	demo, october := readTrip(t), v.Months[9]
	if demo.TempC < october.NightC || demo.TempC > october.DayC || demo.WindFromDeg != october.WindFromDeg {
		t.Errorf("the trip's %g °C and wind from %g° are not those of October", demo.TempC, demo.WindFromDeg)
	}
}

type tariff struct {
	Currency string
	PerDay   float64 `yaml:"per_day"`
	PerKWh   float64 `yaml:"per_kwh"`
	Periods  []struct {
		Days     string
		From, To string
		PerKWh   float64 `yaml:"per_kwh"`
	}
}

func readTariffs(t *testing.T) map[string]tariff {
	t.Helper()
	var v struct {
		Note    string
		Tariffs map[string]tariff
	}
	readYAML(t, data.Tariffs(), &v)
	return v.Tariffs
}

func TestTariffsHavePricesAndTimes(t *testing.T) {
	tariffs := readTariffs(t)
	if len(tariffs) < 3 {
		t.Errorf("%d tariffs", len(tariffs))
	}
	for name, v := range tariffs {
		if v.Currency != "EUR" || v.PerKWh <= 0 || v.PerDay <= 0 {
			t.Errorf("%s: %+v", name, v)
		}
		for _, p := range v.Periods {
			from, err := time.Parse("15:04", p.From)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			to, err := time.Parse("15:04", p.To)
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if from.Equal(to) || p.PerKWh <= 0 || p.PerKWh == v.PerKWh {
				t.Errorf("%s: period %+v changes nothing", name, p)
			}
		}
	}
}

func TestHouseholdsNameWhatIsThere(t *testing.T) {
	var v struct {
		Note       string
		Households map[string]struct {
			Home    string
			Tariff  string
			Circuit struct {
				VoltageV float64 `yaml:"voltage_v"`
				BreakerA float64 `yaml:"breaker_a"`
				Ways     int
			}
			Cars []struct {
				Class     string
				HomeFrom  string             `yaml:"home_from"`
				HomeUntil string             `yaml:"home_until"`
				DailyKm   map[string]float64 `yaml:"daily_km"`
				RoadKmh   float64            `yaml:"road_kmh"`
			}
			Trips []struct {
				Corridor string
				Car      int
				Month    int
				StayDays int `yaml:"stay_days"`
			}
			FuelCar struct {
				LitresPer100Km float64 `yaml:"litres_per_100km"`
				PricePerLitre  float64 `yaml:"price_per_litre"`
				Currency       string
			} `yaml:"fuel_car"`
		}
	}
	readYAML(t, data.Households(), &v)
	tariffs := readTariffs(t)
	for name, h := range v.Households {
		placeNamed(t, h.Home)
		if _, ok := tariffs[h.Tariff]; !ok {
			t.Errorf("%s: no tariff %s", name, h.Tariff)
		}
		if h.Circuit.VoltageV < 100 || h.Circuit.BreakerA < 10 || h.Circuit.Ways < 1 || h.FuelCar.LitresPer100Km <= 0 || h.FuelCar.Currency != "EUR" {
			t.Errorf("%s: %+v", name, h)
		}
		for _, c := range h.Cars {
			if !slices.Contains(cars.Names(), c.Class) {
				t.Errorf("%s: no car %s", name, c.Class)
			}
			for _, day := range []string{"mo", "tu", "we", "th", "fr", "sa", "su"} {
				if c.DailyKm[day] <= 0 || len(c.DailyKm) != 7 {
					t.Errorf("%s: daily km %v", name, c.DailyKm)
				}
			}
		}
		for _, drive := range h.Trips {
			if !slices.Contains(data.Corridors(), drive.Corridor) || drive.Car < 1 || drive.Car > len(h.Cars) || drive.Month < 1 || drive.Month > 12 {
				t.Errorf("%s: %+v", name, drive)
			}
		}
	}
	if len(v.Households) != 3 {
		t.Errorf("%d households", len(v.Households))
	}
}
