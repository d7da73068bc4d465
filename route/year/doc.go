// Package year explains a year of one household: ordinary days charged at
// home, journeys with fast stops, the weather of each month. It turns a
// household, a tariff and a climate, as files describe them, into what
// energy/home simulates; the journeys are planned there and back by package
// trip, each in its own month's weather.
//
// The files are YAML with units in the keys; data/demo/households.yaml,
// tariffs.yaml and climate.yaml explain every key and can be copied.
package year
