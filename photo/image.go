package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"slices"
)

// Image is a colour picture in sRGB, 8 bits a channel.
type Image struct {
	// W and H are the width and the height in pixels.
	W, H int
	// Pix holds R, G, B for each pixel, row by row from the top left,
	// 3*W*H bytes without padding.
	Pix []uint8
}

// NewImage returns a black picture.
func NewImage(w, h int) *Image {
	return &Image{W: w, H: h, Pix: make([]uint8, 3*w*h)}
}

// ColorModel makes Image an image.Image, so that any encoder takes it.
func (m *Image) ColorModel() color.Model { return color.RGBAModel }

// Bounds makes Image an image.Image.
func (m *Image) Bounds() image.Rectangle { return image.Rect(0, 0, m.W, m.H) }

// At makes Image an image.Image. Outside the picture it is transparent.
func (m *Image) At(x, y int) color.Color {
	if x < 0 || y < 0 || x >= m.W || y >= m.H {
		return color.RGBA{}
	}
	i := 3 * (y*m.W + x)
	return color.RGBA{R: m.Pix[i], G: m.Pix[i+1], B: m.Pix[i+2], A: 255}
}

// Crop returns a copy of the part of m inside the box, cut to the picture.
func (m *Image) Crop(r image.Rectangle) *Image {
	r = r.Intersect(m.Bounds())
	out := NewImage(r.Dx(), r.Dy())
	for y := range out.H {
		src := 3 * ((y+r.Min.Y)*m.W + r.Min.X)
		copy(out.Pix[3*y*out.W:3*(y+1)*out.W], m.Pix[src:])
	}
	return out
}

// JPEG encodes m at a quality of 1 to 100. It fails only for a side of more than
// 65535 pixels.
func (m *Image) JPEG(quality int) ([]byte, error) {
	fast := image.NewRGBA(m.Bounds()) // what the encoder reads fast
	for i := range m.W * m.H {
		fast.Pix[4*i], fast.Pix[4*i+1], fast.Pix[4*i+2], fast.Pix[4*i+3] = m.Pix[3*i], m.Pix[3*i+1], m.Pix[3*i+2], 255
	}
	var b bytes.Buffer
	err := jpeg.Encode(&b, fast, &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

// Upright returns m turned so that a picture stored with the EXIF orientation
// tag (1 to 8) is seen as it was taken. Any other tag is taken for 1, which
// returns m itself. Source: exif2.32.
func (m *Image) Upright(orientation int) *Image {
	if orientation < 2 || orientation > 8 {
		return m
	}
	w, h := m.W, m.H
	turned := orientation >= 5 // rows and columns change places
	if turned {
		w, h = h, w
	}
	flipX := slices.Contains([]int{2, 3, 7, 8}, orientation)
	flipY := slices.Contains([]int{3, 4, 6, 7}, orientation)
	out := NewImage(w, h)
	for y := range h {
		for x := range w {
			sx, sy := x, y
			if turned {
				sx, sy = y, x
			}
			if flipX {
				sx = m.W - 1 - sx
			}
			if flipY {
				sy = m.H - 1 - sy
			}
			copy(out.Pix[3*(y*w+x):3*(y*w+x)+3], m.Pix[3*(sy*m.W+sx):])
		}
	}
	return out
}

// fromImage copies any decoded picture, reduced by the whole number denom in
// each direction, each pixel the mean of its denom*denom block. Transparent
// parts are laid on white, as a browser without a page colour shows them.
func fromImage(src image.Image, denom int) *Image {
	switch s := src.(type) {
	case *Image:
		return reduceRGB(s, denom)
	case *image.YCbCr:
		return reduceYCbCr(s, denom)
	case *image.Gray:
		return reduceGray(s, denom)
	}
	b := src.Bounds()
	out := NewImage(reducedSize(b.Dx(), denom), reducedSize(b.Dy(), denom))
	at := pixelReader(src)
	for y := range out.H {
		for x := range out.W {
			var r, g, bl, n uint32
			for sy := b.Min.Y + y*denom; sy < min(b.Min.Y+(y+1)*denom, b.Max.Y); sy++ {
				for sx := b.Min.X + x*denom; sx < min(b.Min.X+(x+1)*denom, b.Max.X); sx++ {
					pr, pg, pb := at(sx, sy)
					r, g, bl, n = r+pr, g+pg, bl+pb, n+1
				}
			}
			i := 3 * (y*out.W + x)
			out.Pix[i], out.Pix[i+1], out.Pix[i+2] = uint8((r+n/2)/n), uint8((g+n/2)/n), uint8((bl+n/2)/n)
		}
	}
	return out
}

// pixelReader returns a function that reads one pixel as 8-bit RGB on white.
func pixelReader(src image.Image) func(x, y int) (r, g, b uint32) {
	switch s := src.(type) {
	case *image.NRGBA:
		return func(x, y int) (uint32, uint32, uint32) {
			p := s.Pix[s.PixOffset(x, y):]
			a := uint32(p[3])
			white := (255 - a) * 255
			return (uint32(p[0])*a + white) / 255, (uint32(p[1])*a + white) / 255, (uint32(p[2])*a + white) / 255
		}
	case *image.RGBA:
		return func(x, y int) (uint32, uint32, uint32) {
			p := s.Pix[s.PixOffset(x, y):]
			white := 255 - uint32(p[3])
			return uint32(p[0]) + white, uint32(p[1]) + white, uint32(p[2]) + white
		}
	}
	return func(x, y int) (uint32, uint32, uint32) {
		r, g, b, a := src.At(x, y).RGBA()
		white := 0xffff - a
		return (r + white) >> 8, (g + white) >> 8, (b + white) >> 8
	}
}

// reducedSize is how many pixels n become when reduced by denom; the last one
// may stand for fewer. It is how the JPEG standard's scaled decoders round.
func reducedSize(n, denom int) int { return (n + denom - 1) / denom }

// reduceRGB is the block mean of an Image.
func reduceRGB(s *Image, denom int) *Image {
	if denom == 1 {
		return s
	}
	out := NewImage(reducedSize(s.W, denom), reducedSize(s.H, denom))
	sums := make([]uint32, 3*out.W)
	for y := range out.H {
		clear(sums)
		rows := min((y+1)*denom, s.H) - y*denom
		for sy := y * denom; sy < y*denom+rows; sy++ {
			row := s.Pix[3*sy*s.W : 3*(sy+1)*s.W]
			for x := range s.W {
				j := 3 * (x / denom)
				sums[j] += uint32(row[3*x])
				sums[j+1] += uint32(row[3*x+1])
				sums[j+2] += uint32(row[3*x+2])
			}
		}
		dst := out.Pix[3*y*out.W : 3*(y+1)*out.W]
		for x := range out.W {
			n := uint32(rows * (min((x+1)*denom, s.W) - x*denom))
			for c := range 3 {
				dst[3*x+c] = uint8((sums[3*x+c] + n/2) / n)
			}
		}
	}
	return out
}

// reduceGray is the block mean of a grey picture.
func reduceGray(s *image.Gray, denom int) *Image {
	b := s.Bounds()
	y := meanPlane(s.Pix, s.Stride, b.Dx(), b.Dy(), denom, denom, reducedSize(b.Dx(), denom), reducedSize(b.Dy(), denom))
	out := NewImage(reducedSize(b.Dx(), denom), reducedSize(b.Dy(), denom))
	for i, v := range y {
		out.Pix[3*i], out.Pix[3*i+1], out.Pix[3*i+2] = v, v, v
	}
	return out
}

// reduceYCbCr takes the block mean in each plane before converting to RGB, so
// that a quarter-size picture converts a sixteenth of the pixels.
func reduceYCbCr(s *image.YCbCr, denom int) *Image {
	b := s.Bounds()
	w, h := b.Dx(), b.Dy()
	ow, oh := reducedSize(w, denom), reducedSize(h, denom)
	subX, subY := subsampling(s.SubsampleRatio)
	cw, ch := reducedSize(w, subX), reducedSize(h, subY)
	luma := meanPlane(s.Y, s.YStride, w, h, denom, denom, ow, oh)
	// Where the chroma is coarser than wanted it is read more than once.
	dx, dy := max(1, denom/subX), max(1, denom/subY)
	cow, coh := reducedSize(cw, dx), reducedSize(ch, dy)
	cb := meanPlane(s.Cb, s.CStride, cw, ch, dx, dy, cow, coh)
	cr := meanPlane(s.Cr, s.CStride, cw, ch, dx, dy, cow, coh)
	repX, repY := max(1, subX/denom), max(1, subY/denom)
	out := NewImage(ow, oh)
	for y := range oh {
		c := min(y/repY, coh-1) * cow
		for x := range ow {
			j := c + min(x/repX, cow-1)
			i := y*ow + x
			r, g, bl := color.YCbCrToRGB(luma[i], cb[j], cr[j])
			out.Pix[3*i], out.Pix[3*i+1], out.Pix[3*i+2] = r, g, bl
		}
	}
	return out
}

func subsampling(r image.YCbCrSubsampleRatio) (x, y int) {
	switch r {
	case image.YCbCrSubsampleRatio422:
		return 2, 1
	case image.YCbCrSubsampleRatio420:
		return 2, 2
	case image.YCbCrSubsampleRatio440:
		return 1, 2
	case image.YCbCrSubsampleRatio411:
		return 4, 1
	case image.YCbCrSubsampleRatio410:
		return 4, 2
	}
	return 1, 1
}

// meanPlane is the block mean of one 8-bit plane; blocks are dx by dy.
func meanPlane(pix []uint8, stride, w, h, dx, dy, ow, oh int) []uint8 {
	out := make([]uint8, ow*oh)
	if dx == 1 && dy == 1 {
		for y := range oh {
			copy(out[y*ow:(y+1)*ow], pix[y*stride:y*stride+w])
		}
		return out
	}
	sums := make([]uint32, ow)
	for y := range oh {
		clear(sums)
		rows := min((y+1)*dy, h) - y*dy
		for sy := y * dy; sy < y*dy+rows; sy++ {
			addBlocks(sums, pix[sy*stride:sy*stride+w], dx)
		}
		for x := range ow {
			n := uint32(rows * (min((x+1)*dx, w) - x*dx))
			out[y*ow+x] = uint8((sums[x] + n/2) / n)
		}
	}
	return out
}

// addBlocks adds each run of dx values of row to its sum.
func addBlocks(sums []uint32, row []uint8, dx int) {
	full := len(row) / dx
	switch dx {
	case 2:
		for x := range full {
			r := row[2*x : 2*x+2 : 2*x+2]
			sums[x] += uint32(r[0]) + uint32(r[1])
		}
	case 4:
		for x := range full {
			r := row[4*x : 4*x+4 : 4*x+4]
			sums[x] += uint32(r[0]) + uint32(r[1]) + uint32(r[2]) + uint32(r[3])
		}
	default:
		for x := range full {
			for _, v := range row[x*dx : (x+1)*dx] {
				sums[x] += uint32(v)
			}
		}
	}
	for _, v := range row[full*dx:] {
		sums[full] += uint32(v)
	}
}
