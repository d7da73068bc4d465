package settings_test

import (
	"fmt"
	"strings"

	"ampleway/data/settings"
)

func ExampleRead() {
	var home struct {
		BreakerA float64 `yaml:"breaker_a"`
	}
	fmt.Println(settings.Read(strings.NewReader("breaker_a: 40"), "home.yaml", "a home", &home), home.BreakerA)
	err := settings.Read(strings.NewReader("breaker: 40"), "home.yaml", "a home", &home)
	fmt.Println(strings.SplitN(err.Error(), "\n", 2)[0])
	// Output:
	// <nil> 40
	// home.yaml, line 1, breaker: expected a known key of a home:
}
