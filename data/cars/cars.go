// Package cars holds the built-in cars: invented examples of six classes, one
// documented file each. It holds the bytes only; package energy reads them.
package cars

import (
	"embed"
	"strings"
)

//go:embed *.yaml
var files embed.FS

// Names returns the names of the built-in cars in a fixed order.
func Names() []string {
	entries, err := files.ReadDir(".")
	if err != nil {
		panic("cars: " + err.Error())
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = strings.TrimSuffix(e.Name(), ".yaml")
	}
	return names
}

// File returns the file name and the bytes of a built-in car, and whether
// there is one of that name.
func File(name string) (file string, text []byte, ok bool) {
	file = name + ".yaml"
	text, err := files.ReadFile(file)
	return file, text, err == nil
}
