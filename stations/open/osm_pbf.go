package open

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
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
	blobHeader, err := parse(header)
	if err != nil {
		return "", nil, err
	}
	kind = string(blobHeader[1].bytes)
	raw, err := p.read(in, int64(min(blobHeader[3].n, 1<<62)), maxBlob)
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

func (p *pbf) unpack(raw []byte) ([]byte, error) {
	blob, err := parse(raw)
	if err != nil {
		return nil, err
	}
	plain, zipped := blob[1].bytes, blob[3].bytes
	switch {
	case zipped != nil:
		return p.unzip(zipped)
	case plain == nil && slices.ContainsFunc(blob[4:8], func(v value) bool { return v.bytes != nil }):
		return nil, fmt.Errorf("%w: compressed otherwise than with zlib (write it again with osmium cat)", errPBF)
	}
	return plain, nil
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

// message holds the values of a message by field number; of a field that
// repeats, the last.
type message [21]value

func parse(msg []byte) (message, error) {
	var m message
	err := fields(msg, func(num protowire.Number, v value) error {
		if int(num) < len(m) {
			m[num] = v
		}
		return nil
	})
	return m, err
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
	block, err := parse(data)
	if err != nil {
		return err
	}
	g := grid{
		granularity: cmp.Or(int64(int32(block[17].n)), 100), dateGranularity: cmp.Or(int64(int32(block[18].n)), 1000),
		latOffset: int64(block[19].n), lonOffset: int64(block[20].n),
	}
	p.text, p.stations = p.text[:0], false
	if err := fields(block[1].bytes, func(_ protowire.Number, v value) error {
		p.text = append(p.text, v.bytes)
		p.stations = p.stations || string(v.bytes) == "charging_station"
		return nil
	}); err != nil {
		return err
	}
	return fields(data, func(num protowire.Number, group value) error {
		if num != 2 {
			return nil
		}
		return fields(group.bytes, func(num protowire.Number, v value) error { return p.element(num, v.bytes, g, c) })
	})
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

// tag reads the text of key number k and that of the next value.
func (p *pbf) tag(k uint64, values *varints) (osmTag, error) {
	v, ok := values.next()
	if !ok {
		return osmTag{}, fmt.Errorf("%w: a key without a value", errPBF)
	}
	key, err := p.string(k)
	if err != nil {
		return osmTag{}, err
	}
	val, err := p.string(v)
	return osmTag{key, val}, err
}

// tags reads keys, up to a zero or their end, and their values: two lists of
// numbers of texts, or one in turns. In a block without stations it reads none.
func (p *pbf) tags(keys, values *varints) (osmTags, error) {
	var out osmTags
	if !p.stations {
		return nil, nil
	}
	for {
		k, ok := keys.next()
		if !ok || k == 0 {
			return out.ordered(), nil
		}
		tag, err := p.tag(k, values)
		if err != nil {
			return nil, err
		}
		out = append(out, tag)
	}
}

func (p *pbf) node(msg []byte, g grid, c *collector) error {
	node, err := parse(msg)
	if err != nil {
		return err
	}
	tags, stamp, err := p.described(&node)
	if err != nil {
		return err
	}
	c.report.Records++
	east, north := g.degrees(protowire.DecodeZigZag(node[9].n), protowire.DecodeZigZag(node[8].n))
	return c.osm.point(protowire.DecodeZigZag(node[1].n), east, north, tags, g.time(stamp))
}

// described reads the tags and the timestamp of a Node, Way or Relation.
func (p *pbf) described(m *message) (tags osmTags, stamp int64, err error) {
	keys, values := varints(m[2].bytes), varints(m[3].bytes)
	if tags, err = p.tags(&keys, &values); err != nil {
		return nil, 0, err
	}
	info, err := parse(m[4].bytes)
	return tags, int64(info[2].n), err
}

// dense reads a DenseNodes message: differences from node to node.
func (p *pbf) dense(msg []byte, g grid, c *collector) error {
	nodes, err := parse(msg)
	if err != nil {
		return err
	}
	info, err := parse(nodes[5].bytes)
	if err != nil {
		return err
	}
	ids, lats, lons := varints(nodes[1].bytes), varints(nodes[8].bytes), varints(nodes[9].bytes)
	texts, stamps := varints(nodes[10].bytes), varints(info[2].bytes)
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
		tags, err := p.tags(&texts, &texts)
		if err != nil {
			return err
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

// memberKinds are the kinds of a relation's members by their number.
var memberKinds = [...]string{"node", "way", "relation"}

// shape reads a Way or Relation message.
func (p *pbf) shape(kind string, msg []byte, g grid, c *collector) error {
	m, err := parse(msg)
	if err != nil {
		return err
	}
	tags, stamp, err := p.described(&m)
	if err != nil {
		return err
	}
	c.report.Records++
	s := newShape(kind, int64(m[1].n), tags, g.time(stamp))
	if kind == "way" {
		s.nodes = running(m[8].bytes)
		return c.osm.shape(s)
	}
	kinds := varints(m[10].bytes)
	for _, ref := range running(m[9].bytes) {
		k, ok := kinds.next()
		if !ok {
			return fmt.Errorf("%w: a member without a kind", errPBF)
		}
		if k < uint64(len(memberKinds)) {
			s.member(memberKinds[k], ref)
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
