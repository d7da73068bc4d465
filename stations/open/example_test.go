package open_test

import (
	"fmt"
	"os"
	"strings"

	"ampleway/stations"
	"ampleway/stations/open"
)

func ExampleRead() {
	const table = `id,name,lon,lat,connector,power_kw,stalls,hours
a1,Mill Bridge,-31.20,44.10,CCS2,150,4,24/7
a1,Mill Bridge,-31.20,44.10,Type 2,22,2,
a2,Ford Inn,-31.45,444.02,CCS2,100,1,
`
	sites, report, err := open.Read(strings.NewReader(table), "island.csv", open.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range sites {
		_, dcKW := s.MaxPowerKW()
		fmt.Println(s.Name, len(s.Stalls), "stalls, direct current up to", dcKW, "kW")
	}
	if err := report.WriteText(os.Stdout); err != nil {
		fmt.Println(err)
	}
	// Output:
	// Mill Bridge 6 stalls, direct current up to 150 kW
	// island.csv: csv, 3 records, 1 station with 6 bays, 1 with direct current
	// connectors
	//        4  CCS2
	//        2  Type 2
	// connectors by power, kW
	//        4  CCS2 150
	//        2  Type 2 22
	// 1 rejected
	//   line 4, lat: found 444.02: expected degrees from -90 to 90 with a decimal point
}

// A token that is not known stays as it is until the user says what it means.
func ExampleOptions_aliases() {
	const table = "lon,lat,connector,current,power_kw\n-31.2,44.1,XPLUG,dc,250\n"
	aliases, err := stations.ParseAliases([]string{"XPLUG = j3400"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, o := range []open.Options{{}, {Aliases: aliases}} {
		sites, _, err := open.Read(strings.NewReader(table), "island.csv", o)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(sites[0].Stalls[0].Connectors[0].Type)
	}
	// Output:
	// XPLUG
	// J3400
}

// A register with semicolons, decimal commas and words of its own.
func ExampleReadMap() {
	m, err := open.ReadMap(strings.NewReader(`
separator: ";"
decimal: ","
columns: {lon: Länge, lat: Breite, operator: Betreiber}
stalls: [{connectors: Stecker, split: "+", power_kw: Leistung}]
words: {connector: {Combo: CCS2}}
`), "map.yaml")
	if err != nil {
		fmt.Println(err)
		return
	}
	const table = "Betreiber;Breite;Länge;Stecker;Leistung\nTideway;44,1;-31,2;Combo + CHAdeMO;150 kW\n"
	sites, _, err := open.Read(strings.NewReader(table), "register.csv", open.Options{Map: m})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(sites[0].Operator, sites[0].Stalls[0].Connectors)
	// Output:
	// Tideway [{CCS2 true 150 0 0 0 false} {CHAdeMO true 150 0 0 0 false}]
}
