package main

import "github.com/spf13/cobra"

// columnMapHelp holds a whole map for an invented register, which the tests
// read.
const columnMapHelp = `How to read a CSV that has columns of its own.

A column map is a YAML file that says which column of the register is which of
ours. It goes with --map to "stations check", "stations near" and "stations
import"; a trip reads the snapshot that import writes:

  ampleway stations check register.csv --map map.yaml
  ampleway stations import register.csv --map map.yaml -o register.parquet
  ampleway trip --route drive.gpx --stations register.parquet

This map is for a register whose rows are charge points with up to two plugs:

  source: Register of Orrelund
  licence: invented
  encoding: windows-1252       # utf-8 (as if left out), iso-8859-1, iso-8859-15
  separator: ";"               # found from the header if left out
  decimal: ","                 # . if left out
  header: 3                    # line of the column names, 1 if left out
  date: "02.01.2006"           # how 2 January 2006 is written in "updated"
  columns:                     # ours: theirs, or a list of theirs to join
    operator: Betreiber
    address: [Straße, Ort]
    lat: Breite
    lon: Länge
    updated: Stand
  fixed:                       # ours: the same on every row
    zone: Etc/UTC
  group: [lat, lon, operator]  # rows alike in these are one station
  stalls:                      # where the plugs are
    - repeat: 2                # {n} is 1, then 2
      connectors: Stecker{n}   # column with the plugs of one bay
      split: "|"               # between several in one cell
      power_kw: Leistung{n}
  words:                       # their words in ours, by our column
    connector:
      Kombi: CCS2

Where a column counts the plugs of one kind, an entry of stalls is

    - connector: CCS2
      count: Anzahl Kombi
      power_kw: Leistung

Our columns are: id, name, operator, network, address, phone, country (two
letters), zone (such as Europe/Lisbon), lon, lat (degrees), connector, current
(ac or dc), power_kw, max_a, max_v, phases, stalls (how many), stall (name of
one), group, group_kw, shared_kw, access (public, customers, private), status
(operating, planned, closed, out_of_order), hours (OpenStreetMap
opening_hours), currency, per_kwh, per_minute, session_fee, idle_per_minute,
idle_after_minutes, amenities, updated, source, licence, note, reach, exit_lon,
exit_lat, detour_m, detour_s. lon and lat are required; what is not known is
left out.`

// newStationsMapTopic is a topic of help.
func newStationsMapTopic() *cobra.Command {
	return &cobra.Command{Use: "map", Short: "How to write a column map for a CSV of any other register", Long: columnMapHelp}
}
