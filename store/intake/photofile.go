package intake

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"time"
)

// openPart opens the part for appending; its shard is made on the way.
func (p *Photos) openPart(sha string) (*os.File, error) {
	err := p.dir.Mkdir(shard(sha), 0o755)
	if err == nil {
		err = p.sync(".")
	}
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, err
	}
	return p.dir.OpenFile(part(sha), os.O_CREATE|os.O_RDWR, 0o644)
}

func (p *Photos) size(name string) (int64, error) {
	info, err := p.dir.Stat(name)
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// sync makes a file or a folder durable.
func (p *Photos) sync(name string) error {
	f, err := p.dir.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// digest returns the SHA-256 of a file and its first bytes.
func (p *Photos) digest(name string) (string, []byte, error) {
	f, err := p.dir.Open(name)
	if err != nil {
		return "", nil, err
	}
	defer f.Close()
	head := make([]byte, 64)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", nil, err
	}
	h := sha256.New()
	h.Write(head[:n])
	if _, err := io.Copy(h, f); err != nil {
		return "", nil, err
	}
	return hex.EncodeToString(h.Sum(nil)), head[:n], nil
}

func shard(sha string) string { return sha[:2] }
func whole(sha string) string { return sha[:2] + "/" + sha }
func part(sha string) string  { return whole(sha) + ".part" }

func isSHA(s string) bool {
	for i := range len(s) {
		if c := s[i]; (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return len(s) == 64
}

// partAge is how long a part that nobody goes on with is kept.
const partAge = 30 * 24 * time.Hour
