package snapshot

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/stations"
	"github.com/parquet-go/parquet-go"
	"github.com/paulmach/orb"
	"golang.org/x/sync/errgroup"
)

// MaxSites is how many sites a snapshot may hold.
const MaxSites = 10_000_000

// Table is a snapshot in memory. It is a stations.Set, safe for concurrent
// use.
type Table struct {
	points []orb.Point
	road   []orb.Point // where a route finds the sites: points, but for exits
	index  *stations.Index

	id, source, licence, name, operator, network, address, country, hours, zone *texts
	phone, stallIDs                                                             *texts

	access    meaning[stations.Access]
	status    meaning[stations.Status]
	stalls    meaning[[]stations.Stall]
	price     meaning[*stations.Price]
	amenities meaning[[]string]
	updated   meaning[time.Time]
	rest      meaning[*more]
}

// meaning is a column whose distinct texts are read once.
type meaning[T any] struct {
	rows  []uint32 // number of the text
	means []T      // by number
}

func (m *meaning[T]) at(row int) T { return m.means[m.rows[row]] }

// Len returns the number of sites.
func (t *Table) Len() int { return len(t.points) }

// Position returns where a route finds a site.
func (t *Table) Position(i int) (lon, lat float64) { return t.road[i][0], t.road[i][1] }

// Positions returns where a route finds each site. It must not be changed.
func (t *Table) Positions() []orb.Point { return t.road }

// Index returns the index over the table that was built while it was read.
func (t *Table) Index() *stations.Index { return t.index }

// Site puts a site together. Its stalls and parts may be shared with other
// sites and must not be changed.
func (t *Table) Site(i int) stations.Site {
	s := stations.Site{
		ID: t.id.at(i), Source: t.source.at(i), Licence: t.licence.at(i), Name: t.name.at(i),
		Operator: t.operator.at(i), Network: t.network.at(i), Address: t.address.at(i), Phone: t.phone.at(i), Country: t.country.at(i),
		Lon: t.points[i][0], Lat: t.points[i][1], Access: t.access.at(i), Status: t.status.at(i),
		Hours: t.hours.at(i), Zone: t.zone.at(i), Stalls: t.stalls.at(i), Price: t.price.at(i),
		Amenities: t.amenities.at(i), Updated: t.updated.at(i),
	}
	ids := t.stallNames(i)
	if m := t.rest.at(i); m != nil {
		s.SharedKW, s.Reach, s.Exit, s.DetourM, s.DetourS, s.Note, s.Parts = m.SharedKW, m.Reach, m.Exit, m.DetourM, m.DetourS, m.Note, m.Parts
	}
	if ids != nil {
		s.Stalls = slices.Clone(s.Stalls)
		for n := range s.Stalls {
			s.Stalls[n].ID = ids[n]
		}
	}
	return s
}

// Rename gives connectors the user's meaning. It must come before the table is
// shared.
func (t *Table) Rename(aliases stations.Aliases) {
	for n, stalls := range t.stalls.means {
		site := stations.Site{Stalls: stalls}
		aliases.Apply(&site)
		t.stalls.means[n] = site.Stalls
	}
}

// stallNames returns the names of a site's stalls, nil where they have none.
func (t *Table) stallNames(i int) []string {
	if m := t.rest.at(i); m != nil && m.StallIDs != nil {
		return m.StallIDs
	}
	if text := t.stallIDs.at(i); text != "" {
		return strings.Split(text, "\n")
	}
	return nil
}

// Is reports whether a file that begins with these bytes may be a snapshot.
func Is(head []byte) bool { return bytes.HasPrefix(head, []byte("PAR1")) }

// Read reads a snapshot and puts an index over it. A file that is not one, or
// is broken anywhere, is a *fault.Input that carries the name.
func Read(r io.ReaderAt, size int64, name string) (t *Table, err error) {
	defer func() {
		if err != nil {
			err = &fault.Input{File: name, Expected: "a snapshot written by ampleway stations import", Err: err}
		}
	}()
	file, err := openFile(r, size)
	if err != nil {
		return nil, err
	}
	return load(file)
}

func openFile(r io.ReaderAt, size int64) (file *parquet.File, err error) {
	if err := sound(r, size); err != nil {
		return nil, err
	}
	err = guarded(func() error {
		file, err = parquet.OpenFile(r, size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true), parquet.ReadBufferSize(1<<20))
		return err
	})
	if err != nil {
		return nil, err
	}
	if text, ok := file.Lookup(formKey); !ok || text != form {
		return nil, fmt.Errorf("the file says it is %q, not %q", text, form)
	}
	if file.NumRows() < 0 || file.NumRows() > MaxSites {
		return nil, fmt.Errorf("%d sites: at most %d can be read", file.NumRows(), MaxSites)
	}
	return file, nil
}

// guarded turns a panic of the decoder, which trusts what it decodes, into an
// error.
func guarded(work func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("the file is broken: %v", p)
		}
	}()
	return work()
}

// load decodes the columns side by side, the longest task first.
func load(file *parquet.File) (*Table, error) {
	t := &Table{}
	var tasks errgroup.Group
	tasks.SetLimit(max(2, runtime.GOMAXPROCS(0)))
	for _, read := range t.tasks() {
		tasks.Go(func() error { return guarded(func() error { return read(file) }) })
	}
	if err := tasks.Wait(); err != nil {
		return nil, err
	}
	if t.phone == nil {
		t.phone = &texts{rows: make([]uint32, len(t.points))}
	}
	return t, t.check()
}

type task func(file *parquet.File) error

func (t *Table) tasks() []task {
	return []task{
		t.readPlaces,
		plain("id", &t.id, false), plain("name", &t.name, false), plain("address", &t.address, false), plain("stall_ids", &t.stallIDs, false),
		ifThere("phone", &t.phone),
		plain("source", &t.source, true), plain("licence", &t.licence, true), plain("operator", &t.operator, true),
		plain("network", &t.network, true), plain("country", &t.country, true), plain("hours", &t.hours, true), plain("zone", &t.zone, true),
		meant("access", &t.access, func(b []byte) (a stations.Access, err error) { return a, a.UnmarshalText(b) }),
		meant("status", &t.status, func(b []byte) (s stations.Status, err error) { return s, s.UnmarshalText(b) }),
		meant("updated", &t.updated, func(b []byte) (time.Time, error) { return time.Parse(time.RFC3339Nano, string(b)) }),
		meant("amenities", &t.amenities, func(b []byte) (words []string, err error) { return words, json.Unmarshal(b, &words) }),
		meant("stalls", &t.stalls, stallParser()),
		meant("price", &t.price, parsePrice),
	}
}

// plain reads a column of texts.
func plain(name string, into **texts, once bool) task {
	return func(file *parquet.File) error {
		number, err := columnNumber(file, name)
		if err != nil {
			return err
		}
		*into, err = readTexts(file, number, once)
		if err != nil {
			return fmt.Errorf("column %s: %w", name, err)
		}
		(*into).settle()
		return nil
	}
}

// ifThere reads a column of texts that older snapshots do not have.
func ifThere(name string, into **texts) task {
	read := plain(name, into, true)
	return func(file *parquet.File) error {
		if _, ok := file.Schema().Lookup(name); !ok {
			return nil
		}
		return read(file)
	}
}

// meant reads a column of texts and what each distinct one means.
func meant[T any](name string, into *meaning[T], parse func([]byte) (T, error)) task {
	return func(file *parquet.File) error {
		number, err := columnNumber(file, name)
		if err != nil {
			return err
		}
		column, err := readTexts(file, number, true)
		if err != nil {
			return fmt.Errorf("column %s: %w", name, err)
		}
		into.rows, into.means = column.rows, make([]T, len(column.ends))
		if objects := bytes.Count(column.bytes, []byte("{")); objects > maxObjects {
			return fmt.Errorf("column %s: %d objects: at most %d can be read", name, objects, maxObjects)
		}
		return column.each(func(n uint32, text []byte) error {
			into.means[n], err = parse(text)
			if err != nil {
				return fmt.Errorf("column %s: %w", name, err)
			}
			return nil
		})
	}
}

// What a short text can stand for is bounded: the stalls of one site, those of
// all the layouts, and the JSON objects in a column of distinct texts.
const (
	maxStalls       = 100_000
	maxLayoutStalls = 10_000_000
	maxObjects      = 4 << 20
)

// stallParser returns parseStalls with the bound on all layouts together.
func stallParser() func([]byte) ([]stations.Stall, error) {
	total := 0
	return func(text []byte) ([]stations.Stall, error) {
		stalls, err := parseStalls(text)
		if total += len(stalls); total > maxLayoutStalls {
			return nil, fmt.Errorf("more than %d bays in layouts that differ", maxLayoutStalls)
		}
		return stalls, err
	}
}

func parseStalls(text []byte) ([]stations.Stall, error) {
	var runs []run
	if err := json.Unmarshal(text, &runs); err != nil {
		return nil, err
	}
	var stalls []stations.Stall
	for _, r := range runs {
		if r.Count < 0 || r.Count > maxStalls-len(stalls) {
			return nil, fmt.Errorf("a site of more than %d bays", maxStalls)
		}
		stalls = slices.Grow(stalls, max(r.Count, 1))
		for range max(r.Count, 1) {
			stalls = append(stalls, r.Stall)
		}
	}
	return stalls, (&stations.Site{Stalls: stalls}).Validate()
}

func parsePrice(text []byte) (*stations.Price, error) {
	var p stations.Price
	if err := json.Unmarshal(text, &p); err != nil {
		return nil, err
	}
	return &p, p.Validate()
}

func parseMore(text []byte) (*more, error) {
	var m more
	if err := json.Unmarshal(text, &m); err != nil {
		return nil, err
	}
	for i := range m.Parts {
		if err := m.Parts[i].Validate(); err != nil {
			return nil, err
		}
	}
	return &m, (&stations.Site{SharedKW: m.SharedKW, Exit: m.Exit, DetourM: m.DetourM, DetourS: m.DetourS}).Validate()
}

// readPlaces reads where the sites are and builds the index.
func (t *Table) readPlaces(file *parquet.File) error {
	if err := meant("more", &t.rest, parseMore)(file); err != nil {
		return err
	}
	number, err := columnNumber(file, "geometry")
	if err != nil {
		return err
	}
	t.points = make([]orb.Point, 0, roomFor(file))
	err = pages(file, number, func(page parquet.Page) error {
		return values(page, func(b []byte) error {
			p, err := point(b)
			t.points = append(t.points, p)
			return err
		})
	})
	if err != nil {
		return fmt.Errorf("column geometry: %w", err)
	}
	if len(t.rest.rows) != len(t.points) {
		return fmt.Errorf("column more has %d rows, geometry %d", len(t.rest.rows), len(t.points))
	}
	t.placeOnRoad()
	t.index = stations.NewIndex(t)
	return nil
}

// placeOnRoad sets the positions by which routes find the sites.
func (t *Table) placeOnRoad() {
	t.road = t.points
	for i := range t.points {
		m := t.rest.at(i)
		if m == nil || m.Exit == nil {
			continue
		}
		if &t.road[0] == &t.points[0] {
			t.road = slices.Clone(t.points)
		}
		t.road[i] = orb.Point{m.Exit.Lon, m.Exit.Lat}
	}
}

// check compares the columns with each other.
func (t *Table) check() error {
	for _, rows := range [][]uint32{
		t.id.rows, t.source.rows, t.licence.rows, t.name.rows, t.operator.rows, t.network.rows, t.address.rows, t.phone.rows, t.country.rows,
		t.hours.rows, t.zone.rows, t.stallIDs.rows, t.access.rows, t.status.rows, t.stalls.rows, t.price.rows, t.amenities.rows, t.updated.rows,
	} {
		if len(rows) != len(t.points) {
			return fmt.Errorf("one column has %d rows, geometry %d", len(rows), len(t.points))
		}
	}
	for i := range t.points {
		names := strings.Count(t.stallIDs.at(i), "\n") + 1
		if m := t.rest.at(i); m != nil && m.StallIDs != nil {
			names = len(m.StallIDs)
		} else if t.stallIDs.rows[i] == 0 {
			continue
		}
		if stalls := len(t.stalls.at(i)); names != stalls {
			return fmt.Errorf("site %q has %d bays and %d names for them", t.id.at(i), stalls, names)
		}
	}
	return nil
}

func columnNumber(file *parquet.File, name string) (int, error) {
	leaf, ok := file.Schema().Lookup(name)
	if !ok {
		return 0, fmt.Errorf("column %s is missing", name)
	}
	if leaf.MaxRepetitionLevel > 0 || leaf.MaxDefinitionLevel > 1 || leaf.Node.Type().Kind() != parquet.ByteArray {
		return 0, fmt.Errorf("column %s has another type than a text", name)
	}
	return leaf.ColumnIndex, nil
}
