package tables_test

import (
	"fmt"
	"strings"

	"ampleway/energy/tables"
)

// A car found in a table. The row is invented.
func ExampleTable_Find() {
	table, err := tables.Read(strings.NewReader(`make,model,year,range,combE,cityE,highwayE,fuelType1
Invented,Runabout,2031,200,28,25,31,Electricity
`), "invented.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range table.Find("runabout") {
		fmt.Println(e.Name())
		fmt.Println("known:", strings.Join(e.Known(), "; "))
	}
	// Output:
	// 2031 Invented Runabout
	// known: rated range 322 km; rated 17.4 kWh/100 km at the outlet
}
