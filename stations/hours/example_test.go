package hours_test

import (
	"fmt"
	"time"

	"ampleway/stations/hours"
)

func Example() {
	s, err := hours.Parse("Mo-Fr 07:00-22:00; Sa,Su 09:00-20:00")
	if err != nil {
		fmt.Println(err)
	}
	friday := time.Date(2026, 6, 5, 23, 0, 0, 0, time.UTC)
	for _, i := range s.Intervals(friday, friday.Add(24*time.Hour)) {
		fmt.Println(i.State, "from", i.From.Format("Mon 15:04"))
	}
	// Output:
	// closed from Fri 23:00
	// open from Sat 09:00
	// closed from Sat 20:00
}

func ExampleParse_unreadable() {
	s, err := hours.Parse("Mo-Fr 8 to late")
	fmt.Println(err)
	fmt.Println(s.At(time.Now()))
	// Output:
	// character 12, opening_hours: found late: expected a number from 0 to 48
	// unknown
}
