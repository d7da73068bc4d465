package open

import (
	"bufio"
	"encoding/json"
)

type Map struct{ Encoding string }

func (c *collector) readPBF(in *bufio.Reader) error          { return ErrUnknownFormat }
func (c *collector) readXML(in *bufio.Reader) error          { return ErrUnknownFormat }
func (c *collector) readMapped(in *bufio.Reader) error       { return ErrUnknownFormat }
func (c *collector) readUS(t *table) error                   { return ErrUnknownFormat }
func (c *collector) readFrench(t *table) error               { return ErrUnknownFormat }
func (c *collector) readElement(raw []byte, where at) error  { return ErrUnknownFormat }
func (c *collector) readUSObject(raw []byte, where at) error { return ErrUnknownFormat }
func (c *collector) readLocation(raw []byte, where at) error { return ErrUnknownFormat }
func (c *collector) readUSFeature(p json.RawMessage, lon, lat float64, where at) error {
	return ErrUnknownFormat
}
func (c *collector) readOSMFeature(f feature, lon, lat float64, where at) error {
	return ErrUnknownFormat
}
