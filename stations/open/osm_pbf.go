package open

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/klauspost/compress/zlib"
	"google.golang.org/protobuf/encoding/protowire"

	"ampleway/data/fault"
)

// The sizes that the OpenStreetMap wiki page PBF Format allows.
const (
	maxBlobHeader = 64 << 10
	maxBlob       = 32 << 20
)

// readPBF reads an .osm.pbf file (OpenStreetMap wiki, PBF Format). It decodes
// the wire format itself, within the sizes that the format allows: a broken
// file must end in an error, whatever it claims of itself.
func (c *collector) readPBF(in *bufio.Reader) error {
	c.report.Format = OSMPBF
	c.osm = &osmPlaces{c: c}
	var p pbf
	for n := 1; ; n++ {
		kind, blob, err := p.blob(in)
		if err == io.EOF {
			return c.osm.flush()
		}
		if err == nil && kind == "OSMData" {
			err = p.block(blob, c)
		}
		if err != nil {
			return pbfFault(err, n)
		}
	}
}

var errPBF = errors.New("not the PBF format")

func pbfFault(err error, block int) error {
	var bad *fault.Input
	if errors.As(err, &bad) {
		return bad
	}
	return &fault.Input{Where: fmt.Sprintf("block %d", block), Found: err.Error(), Expected: "an OpenStreetMap PBF block", Err: ErrSyntax}
}

// pbf holds the buffers that blocks are read into.
type pbf struct {
	packed, plain []byte
	inflate       io.ReadCloser
	text          [][]byte // string table of the block
	stations      bool     // whether it has the word for a charging station
}

// blob reads the next blob and unpacks it.
func (p *pbf) blob(in *bufio.Reader) (kind string, data []byte, err error) {
	var size [4]byte
	if _, err := io.ReadFull(in, size[:1]); err != nil {
		return "", nil, err // io.EOF between blocks is the end
	}
	if _, err := io.ReadFull(in, size[1:]); err != nil {
		return "", nil, io.ErrUnexpectedEOF
	}
	header, err := p.read(in, int64(binary.BigEndian.Uint32(size[:])), maxBlobHeader)
	if err != nil {
		return "", nil, err
	}
	var length uint64
	if err := fields(header, func(num protowire.Number, v value) error {
		switch num {
		case 1:
			kind = string(v.bytes)
		case 3:
			length = v.n
		}
		return nil
	}); err != nil {
		return "", nil, err
	}
	raw, err := p.read(in, int64(min(length, 1<<62)), maxBlob)
	if err != nil {
		return "", nil, err
	}
	data, err = p.unpack(raw)
	return kind, data, err
}

func (p *pbf) read(in io.Reader, n, most int64) ([]byte, error) {
	if n > most {
		return nil, &fault.Input{Found: fmt.Sprintf("a block of %d bytes", n), Expected: fmt.Sprintf("at most %d", most), Err: ErrRecordTooLong}
	}
	if int64(cap(p.packed)) < n {
		p.packed = make([]byte, n)
	}
	p.packed = p.packed[:n]
	if _, err := io.ReadFull(in, p.packed); err != nil {
		return nil, io.ErrUnexpectedEOF
	}
	return p.packed, nil
}

func (p *pbf) unpack(raw []byte) (data []byte, err error) {
	var zipped []byte
	var other protowire.Number
	if err := fields(raw, func(num protowire.Number, v value) error {
		switch num {
		case 1:
			data = v.bytes
		case 3:
			zipped = v.bytes
		case 4, 5, 6, 7:
			other = num
		}
		return nil
	}); err != nil {
		return nil, err
	}
	switch {
	case zipped != nil:
		return p.unzip(zipped)
	case data == nil && other != 0:
		return nil, fmt.Errorf("%w: compressed otherwise than with zlib (write it again with osmium cat)", errPBF)
	}
	return data, nil
}

func (p *pbf) unzip(zipped []byte) ([]byte, error) {
	var err error
	if p.inflate == nil {
		p.inflate, err = zlib.NewReader(bytes.NewReader(zipped))
	} else {
		err = p.inflate.(zlib.Resetter).Reset(bytes.NewReader(zipped), nil)
	}
	if err != nil {
		p.inflate = nil
		return nil, err
	}
	buf := bytes.NewBuffer(p.plain[:0])
	n, err := io.Copy(buf, io.LimitReader(p.inflate, maxBlob+1))
	p.plain = buf.Bytes()
	if err == nil && n > maxBlob {
		err = &fault.Input{Found: "a block that unpacks to more", Expected: fmt.Sprintf("at most %d bytes", maxBlob), Err: ErrRatio}
	}
	return p.plain, err
}

// value is one field's value: a number or bytes.
type value struct {
	n     uint64
	bytes []byte
}

// fields walks over the fields of a message.
func fields(msg []byte, visit func(protowire.Number, value) error) error {
	for len(msg) > 0 {
		num, kind, n := protowire.ConsumeTag(msg)
		if n < 0 {
			return errPBF
		}
		msg = msg[n:]
		var v value
		switch kind {
		case protowire.VarintType:
			v.n, n = protowire.ConsumeVarint(msg)
		case protowire.BytesType:
			v.bytes, n = protowire.ConsumeBytes(msg)
		default:
			n = protowire.ConsumeFieldValue(num, kind, msg)
		}
		if n < 0 {
			return errPBF
		}
		msg = msg[n:]
		if err := visit(num, v); err != nil {
			return err
		}
	}
	return nil
}

// varints walks over packed numbers.
type varints []byte

// next gives the next number; ok is false at the end or where none can be
// read.
func (p *varints) next() (v uint64, ok bool) {
	v, n := protowire.ConsumeVarint(*p)
	if n < 0 {
		*p = nil
		return 0, false
	}
	*p = (*p)[n:]
	return v, true
}

func (p *varints) signed() (int64, bool) {
	v, ok := p.next()
	return protowire.DecodeZigZag(v), ok
}

// grid turns a block's whole numbers into degrees and times.
type grid struct {
	granularity, dateGranularity int64
	latOffset, lonOffset         int64
}

func (g grid) degrees(lon, lat int64) (float64, float64) {
	const nano = 1e-9
	return nano * float64(g.lonOffset+g.granularity*lon), nano * float64(g.latOffset+g.granularity*lat)
}

func (g grid) time(n int64) time.Time {
	if n == 0 {
		return time.Time{}
	}
	return time.UnixMilli(n * g.dateGranularity).UTC()
}

// block reads a PrimitiveBlock.
func (p *pbf) block(data []byte, c *collector) error {
	g := grid{granularity: 100, dateGranularity: 1000}
	var groups [][]byte
	p.text, p.stations = p.text[:0], false
	err := fields(data, func(num protowire.Number, v value) error {
		switch num {
		case 1:
			return fields(v.bytes, func(_ protowire.Number, v value) error {
				p.text = append(p.text, v.bytes)
				p.stations = p.stations || string(v.bytes) == "charging_station"
				return nil
			})
		case 2:
			groups = append(groups, v.bytes)
		case 17:
			g.granularity = int64(int32(v.n))
		case 18:
			g.dateGranularity = int64(int32(v.n))
		case 19:
			g.latOffset = int64(v.n)
		case 20:
			g.lonOffset = int64(v.n)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, group := range groups {
		if err := fields(group, func(num protowire.Number, v value) error { return p.element(num, v.bytes, g, c) }); err != nil {
			return err
		}
	}
	return nil
}

func (p *pbf) element(num protowire.Number, msg []byte, g grid, c *collector) error {
	switch num {
	case 1:
		return p.node(msg, g, c)
	case 2:
		return p.dense(msg, g, c)
	case 3:
		return p.shape("way", msg, g, c)
	case 4:
		return p.shape("relation", msg, g, c)
	}
	return nil
}

func (p *pbf) string(i uint64) (string, error) {
	if i >= uint64(len(p.text)) {
		return "", fmt.Errorf("%w: text %d of %d", errPBF, i, len(p.text))
	}
	return string(p.text[i]), nil
}

// tags reads two lists of numbers of texts, or none in a block without
// stations.
func (p *pbf) tags(keys, values varints) (osmTags, error) {
	var out osmTags
	if !p.stations {
		return nil, nil
	}
	for {
		k, ok := keys.next()
		if !ok {
			return out.ordered(), nil
		}
		v, ok := values.next()
		if !ok {
			return nil, fmt.Errorf("%w: a key without a value", errPBF)
		}
		key, err := p.string(k)
		if err != nil {
			return nil, err
		}
		val, err := p.string(v)
		if err != nil {
			return nil, err
		}
		out = append(out, osmTag{key, val})
	}
}

func (p *pbf) node(msg []byte, g grid, c *collector) error {
	var id, lat, lon, stamp int64
	var keys, values varints
	err := fields(msg, func(num protowire.Number, v value) (err error) {
		switch num {
		case 1:
			id = protowire.DecodeZigZag(v.n)
		case 2:
			keys = v.bytes
		case 3:
			values = v.bytes
		case 4:
			stamp, err = infoStamp(v.bytes)
		case 8:
			lat = protowire.DecodeZigZag(v.n)
		case 9:
			lon = protowire.DecodeZigZag(v.n)
		}
		return err
	})
	if err != nil {
		return err
	}
	tags, err := p.tags(keys, values)
	if err != nil {
		return err
	}
	c.report.Records++
	east, north := g.degrees(lon, lat)
	return c.osm.point(id, east, north, tags, g.time(stamp))
}

// infoStamp reads the timestamp of an Info message.
func infoStamp(msg []byte) (stamp int64, err error) {
	err = fields(msg, func(num protowire.Number, v value) error {
		if num == 2 {
			stamp = int64(v.n)
		}
		return nil
	})
	return stamp, err
}

// dense reads a DenseNodes message: differences from node to node.
func (p *pbf) dense(msg []byte, g grid, c *collector) error {
	var ids, lats, lons, texts, stamps varints
	err := fields(msg, func(num protowire.Number, v value) error {
		switch num {
		case 1:
			ids = v.bytes
		case 5:
			return fields(v.bytes, func(num protowire.Number, v value) error {
				if num == 2 {
					stamps = v.bytes
				}
				return nil
			})
		case 8:
			lats = v.bytes
		case 9:
			lons = v.bytes
		case 10:
			texts = v.bytes
		}
		return nil
	})
	if err != nil {
		return err
	}
	var id, lat, lon, stamp int64
	for {
		dID, ok := ids.signed()
		if !ok {
			return nil
		}
		dLat, okLat := lats.signed()
		dLon, okLon := lons.signed()
		if !okLat || !okLon {
			return fmt.Errorf("%w: a node without a position", errPBF)
		}
		dStamp, _ := stamps.signed()
		id, lat, lon, stamp = id+dID, lat+dLat, lon+dLon, stamp+dStamp
		var tags osmTags
		if p.stations {
			var err error
			if tags, err = p.denseTags(&texts); err != nil {
				return err
			}
		}
		c.report.Records++
		east, north := g.degrees(lon, lat)
		if tags == nil {
			c.osm.node(id, east, north)
			c.report.Ignored++
			continue
		}
		if err := c.osm.point(id, east, north, tags, g.time(stamp)); err != nil {
			return err
		}
	}
}

// denseTags reads one node's pairs of texts, which end with a zero.
func (p *pbf) denseTags(texts *varints) (osmTags, error) {
	var out osmTags
	for {
		k, ok := texts.next()
		if !ok || k == 0 {
			return out.ordered(), nil
		}
		v, ok := texts.next()
		if !ok {
			return nil, fmt.Errorf("%w: a key without a value", errPBF)
		}
		key, err := p.string(k)
		if err != nil {
			return nil, err
		}
		val, err := p.string(v)
		if err != nil {
			return nil, err
		}
		out = append(out, osmTag{key, val})
	}
}

// shape reads a Way or Relation message.
func (p *pbf) shape(kind string, msg []byte, g grid, c *collector) error {
	var id, stamp int64
	var keys, values, refs, members, kinds varints
	err := fields(msg, func(num protowire.Number, v value) (err error) {
		switch num {
		case 1:
			id = int64(v.n)
		case 2:
			keys = v.bytes
		case 3:
			values = v.bytes
		case 4:
			stamp, err = infoStamp(v.bytes)
		case 8:
			refs = v.bytes // of a way; roles of a relation
		case 9:
			members = v.bytes
		case 10:
			kinds = v.bytes
		}
		return err
	})
	if err != nil {
		return err
	}
	tags, err := p.tags(keys, values)
	if err != nil {
		return err
	}
	c.report.Records++
	s := newShape(kind, id, tags, g.time(stamp))
	if kind == "way" {
		s.nodes = running(refs)
		return c.osm.shape(s)
	}
	for _, ref := range running(members) {
		switch k, ok := kinds.next(); {
		case !ok:
			return fmt.Errorf("%w: a member without a kind", errPBF)
		case k == 0:
			s.nodes = append(s.nodes, ref)
		case k == 1:
			s.ways = append(s.ways, ref)
		}
	}
	return c.osm.shape(s)
}

// running adds up differences.
func running(list varints) []int64 {
	var out []int64
	var sum int64
	for {
		d, ok := list.signed()
		if !ok {
			return out
		}
		sum += d
		out = append(out, sum)
	}
}
