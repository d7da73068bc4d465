package stations_test

import (
	"fmt"
	"time"

	"ampleway/stations"
	"github.com/paulmach/orb"
)

func ExampleIndex_Corridor() {
	index := stations.NewIndex(stations.Sites{
		{Name: "Mill Bridge", Lon: 0.50, Lat: 0.01},
		{Name: "Ford Inn", Lon: 0.20, Lat: -0.02},
		{Name: "Too Far", Lon: 0.30, Lat: 0.50},
	})
	road := orb.LineString{{0, 0}, {1, 0}}
	for _, hit := range index.Corridor(road, []float64{0, 111319}, 5000) {
		site := index.Set().Site(hit.Site)
		fmt.Printf("%s at %.1f km, %.1f km to the %s\n", site.Name, hit.ChainageM/1000, hit.OffsetM/1000, hit.Side)
	}
	// Output:
	// Ford Inn at 22.3 km, 2.2 km to the right
	// Mill Bridge at 55.7 km, 1.1 km to the left
}

func ExamplePrice_Cost() {
	price := &stations.Price{
		Currency:         "XTS",
		Rates:            stations.Rates{PerKWh: 0.45, IdlePerMinute: 0.2},
		IdleAfterMinutes: 10,
		Periods:          []stations.Period{{From: 22 * 60, To: 6 * 60, Rates: stations.Rates{PerKWh: 0.3}}},
	}
	evening := time.Date(2026, 7, 1, 21, 45, 0, 0, time.UTC)
	// Half of the 40 kWh are drawn before 22:00.
	fmt.Println(price.Cost(stations.Session{Start: evening, Draws: []stations.Draw{{Minutes: 30, EnergyKWh: 40}}}))
	// Output: 15.00 XTS
}

func ExampleSite_Offer() {
	dual := stations.Stall{Connectors: []stations.Connector{
		{Type: stations.CCS2, DC: true, PowerKW: 150},
		{Type: stations.CHAdeMO, DC: true, PowerKW: 50},
	}}
	site := stations.Site{Stalls: []stations.Stall{dual, dual}, SharedKW: 200}
	offer, _ := site.Offer([]stations.ConnectorType{stations.CCS2})
	fmt.Printf("%d stalls, %g kW alone, %g kW with both in use\n", offer.Stalls, offer.PowerKW, offer.FullKW)
	// Output: 2 stalls, 150 kW alone, 100 kW with both in use
}

func ExampleMergeRule_Merge() {
	merged := stations.MergeRule{}.Merge([]stations.Site{
		{ID: "17", Source: "register", Operator: "Northern", Lon: 10, Lat: 50},
		{ID: "n4", Source: "map", Operator: "Northern Ltd", Name: "Mill Bridge", Lon: 10.0005, Lat: 50},
	})
	fmt.Println(len(merged), merged[0].ID, merged[0].Name)
	fmt.Println(len(stations.Unmerge(merged)))
	// Output:
	// 1 17 Mill Bridge
	// 2
}

func ExampleParseAliases() {
	aliases, err := stations.ParseAliases([]string{"ROUNDPLUG = j3400"})
	fmt.Println(err)
	fmt.Println(aliases.ConnectorFor("Round Plug"))
	fmt.Println(aliases.ConnectorFor("SQUAREPLUG"))
	// Output:
	// <nil>
	// J3400 true
	// SQUAREPLUG false
}
