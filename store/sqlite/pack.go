package sqlite

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"sync"
)

// Answers of the engine are long and repeat themselves: packed they take a quarter of the room, in the file and in every backup.
// Those written before stand as they are, and every reader takes both.

var packers = sync.Pool{New: func() any {
	z, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // the level is one of the package's own
	return z
}}

// Packed is how an answer is stored.
func Packed(answer []byte) ([]byte, error) {
	z := packers.Get().(*gzip.Writer)
	defer packers.Put(z)
	var out bytes.Buffer
	z.Reset(&out)
	if _, err := z.Write(answer); err != nil {
		return nil, err
	}
	err := z.Close()
	return out.Bytes(), err
}

// packedSign begins everything that is packed, and no JSON.
var packedSign = []byte{0x1f, 0x8b}

// packed scans a stored answer, whether it is packed or not.
type packed struct{ to *[]byte }

// Scan reads what Packed wrote.
func (p packed) Scan(v any) error {
	stored, ok := v.([]byte)
	if !ok {
		return fmt.Errorf("an answer is stored as %T", v)
	}
	if !bytes.HasPrefix(stored, packedSign) {
		*p.to = bytes.Clone(stored)
		return nil
	}
	z, err := gzip.NewReader(bytes.NewReader(stored))
	if err != nil {
		return err
	}
	*p.to, err = io.ReadAll(z)
	return err
}
