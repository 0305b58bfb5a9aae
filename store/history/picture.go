package history

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/jpeg"
	_ "image/png" // a kind of photo that phones send

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp" // another one
)

// mostPixels of a photo that is opened: a small file may claim to be huge.
const mostPixels = 60e6

// Picture makes a photo ready to be handed on: turned upright, at most wide pixels across, and a JPEG with nothing in it but the picture.
// Where and when it was taken, and with what, stays behind.
func Picture(raw []byte, wide int) ([]byte, error) {
	size, kind, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	if float64(size.Width)*float64(size.Height) > mostPixels {
		return nil, errors.New("the picture is too big to be opened")
	}
	im, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	im = smaller(im, wide)
	if kind == "jpeg" {
		im = upright(im, orientation(raw))
	}
	var out bytes.Buffer
	err = jpeg.Encode(&out, im, &jpeg.Options{Quality: 82})
	return out.Bytes(), err
}

func smaller(im image.Image, wide int) image.Image {
	b := im.Bounds()
	most := max(b.Dx(), b.Dy())
	if most <= wide {
		return im
	}
	to := image.NewRGBA(image.Rect(0, 0, max(1, b.Dx()*wide/most), max(1, b.Dy()*wide/most)))
	draw.ApproxBiLinear.Scale(to, to.Bounds(), im, b, draw.Src, nil)
	return to
}

// orientation is how a JPEG's Exif data says the picture is to be turned (TIFF tag 274); 1 where it says nothing that can be read.
func orientation(raw []byte) int {
	for at := 2; at+4 <= len(raw) && raw[at] == 0xFF && raw[at+1] != 0xDA; {
		n := int(binary.BigEndian.Uint16(raw[at+2:]))
		if at+2+n > len(raw) {
			return 1
		}
		if part := raw[at+4 : at+2+max(n, 2)]; raw[at+1] == 0xE1 && bytes.HasPrefix(part, []byte("Exif\x00\x00")) {
			return turned(part[6:])
		}
		at += 2 + n
	}
	return 1
}

func turned(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	if tiff[0] == 'I' {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return 1
	}
	for i := range int64(order.Uint16(tiff[at:])) {
		entry := at + 2 + 12*i
		if entry+12 > int64(len(tiff)) {
			return 1
		}
		if order.Uint16(tiff[entry:]) == 274 {
			if o := int(order.Uint16(tiff[entry+8:])); o >= 1 && o <= 8 {
				return o
			}
		}
	}
	return 1
}

// upright turns and mirrors a picture as its orientation says: 2, 4, 5 and 7 are mirrored, 5 to 8 lie on their side.
func upright(im image.Image, o int) image.Image {
	if o == 1 {
		return im
	}
	b := im.Bounds()
	w, h := b.Dx(), b.Dy()
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	if o > 4 {
		to = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	for y := range h {
		for x := range w {
			c := im.At(b.Min.X+x, b.Min.Y+y)
			switch o {
			case 2:
				to.Set(w-1-x, y, c)
			case 3:
				to.Set(w-1-x, h-1-y, c)
			case 4:
				to.Set(x, h-1-y, c)
			case 5:
				to.Set(y, x, c)
			case 6:
				to.Set(h-1-y, x, c)
			case 7:
				to.Set(h-1-y, w-1-x, c)
			case 8:
				to.Set(y, w-1-x, c)
			}
		}
	}
	return to
}

// sizes of photos on paper, in millimetres
const (
	photoWide, photoHigh = 88, 62
	paperPixels          = 1000
	captionHigh          = 5
)

// photos prints each zone's first and last photo side by side, and those that stand alone two by two.
func (s *sheets) photos(rec Record, label string, photo func(sha string) ([]byte, error)) {
	var list []tile
	for _, p := range rec.Properties {
		for _, pair := range p.Pairs {
			title := joined(p.Property.Address, pair.Zone.Name)
			if pair.Alone() {
				list = append(list, s.photo(title, "The only one, "+pair.First.Day, pair.First, photo))
				continue
			}
			first := s.photo(title, "Before, "+pair.First.Day, pair.First, photo)
			first.fresh = true
			list = append(list, first, s.photo("", "After, "+pair.Last.Day, pair.Last, photo))
		}
	}
	s.heading(label, photoHigh+20)
	s.tiles(list)
}

// photo is one of them. One that can't be had leaves a frame that says so.
func (s *sheets) photo(title, caption string, x DatedPhoto, photo func(sha string) ([]byte, error)) tile {
	options := fpdf.ImageOptions{ImageType: "JPG"}
	var info *fpdf.ImageInfoType
	if raw, err := photo(x.SHA); err == nil {
		info = s.RegisterImageOptionsReader(x.SHA, options, bytes.NewReader(raw))
	}
	if info == nil || s.Err() {
		s.ClearError()
		return tile{title: title, high: 16 + captionHigh, draw: func(left, top float64) {
			s.SetLineWidth(0.2)
			s.Rect(left, top, photoWide, 16, "D")
			s.SetFont(face, "", 7)
			s.Text(left+3, top+9, drawable("The office does not have this photo. Its digest begins "+x.SHA[:min(12, len(x.SHA))]+"."))
			s.Text(left, top+16+3.5, drawable(caption))
		}}
	}
	scale := min(photoWide/info.Width(), photoHigh/info.Height())
	wide, high := info.Width()*scale, info.Height()*scale
	return tile{title: title, high: high + captionHigh, draw: func(left, top float64) {
		s.ImageOptions(x.SHA, left, top, wide, high, false, options, 0, "")
		s.SetFont(face, "", 7)
		s.Text(left, top+high+3.5, drawable(caption))
	}}
}

// PaperPhoto makes photos fit for paper from what opens them whole.
func PaperPhoto(open func(sha string) ([]byte, error)) func(sha string) ([]byte, error) {
	return func(sha string) ([]byte, error) {
		raw, err := open(sha)
		if err != nil {
			return nil, err
		}
		return Picture(raw, paperPixels)
	}
}
