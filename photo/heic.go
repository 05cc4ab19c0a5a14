package photo

import (
	"bytes"
	"errors"
	"image"

	"github.com/bep/imagemeta"
	"github.com/gen2brain/heic"
)

// heicConfig returns the size of the main picture as the decoder will hand it
// out, already turned as the container says, after checking what the container
// may make the decoder allocate.
func heicConfig(data []byte) (image.Config, error) {
	largest, err := heicLargest(data)
	if err != nil {
		return image.Config{}, err
	}
	res, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(data), ImageFormat: imagemeta.HEIF, Sources: imagemeta.CONFIG,
	})
	if err != nil {
		return image.Config{}, err
	}
	cfg := image.Config{Width: res.ImageConfig.Width, Height: res.ImageConfig.Height}
	// Whole blocks, and a tile that overhangs, are more than what is shown.
	if largest > 2*cfg.Width*cfg.Height+1<<20 {
		return image.Config{}, errHEIC
	}
	return cfg, nil
}

// heicBytesPerPixel is what the decoded picture takes. The decoder, sandboxed
// code with a memory of its own, takes more while it works: 581 MB were measured
// for a phone's picture of 24 megapixels, which is why only one is decoded at a
// time.
const heicBytesPerPixel = 8

func heicDecode(data []byte) (image.Image, error) {
	return heic.Decode(bytes.NewReader(data))
}

var errHEIC = errors.New("the HEIC container is malformed")

// heicLargest walks the container and returns the largest number of pixels
// that any size field in it announces: spatial extents, the sequence headers
// of the coded pictures, and grids of tiles. It refuses containers whose boxes
// overrun.
// Source: iso23008-12, iso14496-12, itu-h265.
func heicLargest(data []byte) (int, error) {
	c := heicChecker{data: data}
	err := eachBox(data, func(kind string, body []byte) error {
		if kind != "meta" {
			return nil
		}
		if len(body) < 4 {
			return errHEIC
		}
		return eachBox(body[4:], c.metaBox)
	})
	if err != nil {
		return 0, err
	}
	if err := c.items(); err != nil {
		return 0, err
	}
	return c.largest, nil
}

type heicChecker struct {
	data    []byte
	idat    []byte
	iloc    []byte
	grid    map[uint32]bool // items that are grids of tiles
	coded   map[uint32]bool // items that are coded pictures
	largest int
}

// eachBox calls f for each box of an ISO base media file and checks that none
// overruns its parent.
func eachBox(b []byte, f func(kind string, body []byte) error) error {
	for len(b) > 0 {
		if len(b) < 8 {
			return errHEIC
		}
		size, head := uint64(be32(b)), uint64(8)
		switch size {
		case 0: // to the end of the file
			size = uint64(len(b))
		case 1:
			if len(b) < 16 {
				return errHEIC
			}
			size, head = uint64(be32(b[8:]))<<32|uint64(be32(b[12:])), 16
		}
		if size < head || size > uint64(len(b)) {
			return errHEIC
		}
		if err := f(string(b[4:8]), b[head:size]); err != nil {
			return err
		}
		b = b[size:]
	}
	return nil
}

func be16(b []byte) int    { return int(b[0])<<8 | int(b[1]) }
func be32(b []byte) uint32 { return uint32(be16(b))<<16 | uint32(be16(b[2:])) }

// saw notes a size.
func (c *heicChecker) saw(w, h uint64) error {
	if w > 1<<20 || h > 1<<20 {
		return errHEIC
	}
	c.largest = max(c.largest, int(w*h))
	return nil
}

func (c *heicChecker) metaBox(kind string, body []byte) error {
	switch kind {
	case "idat":
		c.idat = body
	case "iloc":
		c.iloc = body
	case "iinf":
		return c.itemInfo(body)
	case "iprp":
		return eachBox(body, func(kind string, body []byte) error {
			if kind != "ipco" {
				return nil
			}
			return eachBox(body, c.property)
		})
	}
	return nil
}

func (c *heicChecker) itemInfo(body []byte) error {
	skip := 6
	if len(body) > 0 && body[0] > 0 {
		skip = 8
	}
	if len(body) < skip {
		return errHEIC
	}
	c.grid, c.coded = map[uint32]bool{}, map[uint32]bool{}
	return eachBox(body[skip:], func(kind string, b []byte) error {
		if kind != "infe" || len(b) < 1 || b[0] < 2 {
			return nil
		}
		if len(b) < 14 && (b[0] > 2 || len(b) < 12) {
			return errHEIC
		}
		id, rest := uint32(be16(b[4:])), b[8:]
		if b[0] > 2 {
			id, rest = be32(b[4:]), b[10:]
		}
		switch string(rest[:4]) {
		case "grid":
			c.grid[id] = true
		case "hvc1", "hev1":
			c.coded[id] = true
		}
		return nil
	})
}

func (c *heicChecker) property(kind string, b []byte) error {
	switch kind {
	case "ispe":
		if len(b) < 12 {
			return errHEIC
		}
		return c.saw(uint64(be32(b[4:])), uint64(be32(b[8:])))
	case "hvcC":
		return c.configRecord(b)
	}
	return nil
}

// configRecord reads the sizes in the sequence headers of a decoder
// configuration record (ISO/IEC 14496-15, 8.3.3.1).
func (c *heicChecker) configRecord(b []byte) error {
	if len(b) < 23 {
		return errHEIC
	}
	arrays, b := int(b[22]), b[23:]
	for range arrays {
		if len(b) < 3 {
			return errHEIC
		}
		nals, rest := be16(b[1:]), b[3:]
		for range nals {
			if len(rest) < 2 || len(rest) < 2+be16(rest) {
				return errHEIC
			}
			nal := rest[2 : 2+be16(rest)]
			rest = rest[2+be16(rest):]
			if err := c.sequenceHeader(nal); err != nil {
				return err
			}
		}
		b = rest
	}
	return nil
}

// nalSPS is the type of a sequence parameter set (ITU-T H.265, table 7-1).
const nalSPS = 33

// sequenceHeader notes the size in a unit of the coded picture, if it is a
// sequence parameter set. They also occur amid the picture's data.
func (c *heicChecker) sequenceHeader(nal []byte) error {
	if len(nal) < 2 || nal[0]>>1&0x3f != nalSPS {
		return nil
	}
	w, h, ok := spsSize(nal)
	if !ok {
		return errHEIC
	}
	return c.saw(w, h)
}

// spsSize reads the luma size from an H.265 sequence parameter set (7.3.2.2).
func spsSize(nal []byte) (w, h uint64, ok bool) {
	r := bitReader{b: bytes.ReplaceAll(nal[2:], []byte{0, 0, 3}, []byte{0, 0})}
	r.skip(4)
	layers := int(r.bits(3))
	r.skip(1 + 96)
	var profile, level [8]bool
	for i := range layers {
		profile[i], level[i] = r.bits(1) == 1, r.bits(1) == 1
	}
	if layers > 0 {
		r.skip(2 * (8 - layers))
	}
	for i := range layers {
		if profile[i] {
			r.skip(88)
		}
		if level[i] {
			r.skip(8)
		}
	}
	r.golomb()
	if r.golomb() == 3 {
		r.skip(1)
	}
	w, h = r.golomb(), r.golomb()
	return w, h, r.pos <= 8*len(r.b)
}

// bitReader reads big-endian bits; past the end it reads zeros and pos tells.
type bitReader struct {
	b   []byte
	pos int
}

func (r *bitReader) skip(n int) { r.pos += n }

func (r *bitReader) bits(n int) uint64 {
	var v uint64
	for range n {
		v <<= 1
		if i := r.pos >> 3; i < len(r.b) {
			v |= uint64(r.b[i]>>(7-r.pos&7)) & 1
		}
		r.pos++
	}
	return v
}

// golomb reads an unsigned Exp-Golomb code of up to 32 bits (9.2).
func (r *bitReader) golomb() uint64 {
	zeros := 0
	for zeros < 32 && r.pos < 8*len(r.b) && r.bits(1) == 0 {
		zeros++
	}
	return 1<<zeros - 1 + r.bits(zeros)
}

// items checks the data of grids and coded pictures, found through the item
// location box (ISO/IEC 14496-12, 8.11.3).
func (c *heicChecker) items() error {
	b := c.iloc
	if len(b) < 8 {
		return nil
	}
	version := b[0]
	offsetSize, lengthSize, baseSize, indexSize := int(b[4]>>4), int(b[4]&15), int(b[5]>>4), int(b[5]&15)
	if version == 0 {
		indexSize = 0
	}
	r := byteReader{b: b[6:]}
	idSize := 2
	if version > 1 {
		idSize = 4
	}
	count := r.uint(idSize)
	for i := uint64(0); i < count && !r.bad; i++ {
		id := uint32(r.uint(idSize))
		method := uint64(0)
		if version > 0 {
			method = r.uint(2) & 15
		}
		r.uint(2)
		base := r.uint(baseSize)
		extents := r.uint(2)
		var item []byte
		for j := uint64(0); j < extents && !r.bad; j++ {
			r.uint(indexSize)
			off, n := base+r.uint(offsetSize), r.uint(lengthSize)
			from := c.data
			if method == 1 {
				from = c.idat
			}
			if !c.grid[id] && !c.coded[id] || method > 1 {
				continue
			}
			if off > uint64(len(from)) || n > uint64(len(from))-off || len(item)+int(n) > len(c.data) {
				return errHEIC
			}
			item = append(item, from[off:off+n]...)
		}
		if err := c.item(id, item); err != nil {
			return err
		}
	}
	if r.bad {
		return errHEIC
	}
	return nil
}

func (c *heicChecker) item(id uint32, b []byte) error {
	switch {
	case c.grid[id] && len(b) >= 8:
		if b[1]&1 == 0 {
			return c.saw(uint64(be16(b[4:])), uint64(be16(b[6:])))
		}
		if len(b) < 12 {
			return errHEIC
		}
		return c.saw(uint64(be32(b[4:])), uint64(be32(b[8:])))
	case c.coded[id]:
		for len(b) >= 4 {
			n := uint64(be32(b))
			if n > uint64(len(b)-4) {
				return errHEIC
			}
			if err := c.sequenceHeader(b[4 : 4+n]); err != nil {
				return err
			}
			b = b[4+n:]
		}
	}
	return nil
}

// byteReader reads big-endian whole numbers of 0, 2, 4 or 8 bytes; any other
// size or the end of the data sets bad.
type byteReader struct {
	b   []byte
	bad bool
}

func (r *byteReader) uint(size int) uint64 {
	if size != 0 && size != 2 && size != 4 && size != 8 || size > len(r.b) {
		r.bad = true
		return 0
	}
	var v uint64
	for _, x := range r.b[:size] {
		v = v<<8 | uint64(x)
	}
	r.b = r.b[size:]
	return v
}
