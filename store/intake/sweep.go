package intake

import (
	"context"
	"errors"
	"io/fs"
	"strings"
	"time"

	"swardbook/store"
)

// Swept is what a sweep of the photo folder found, each list in order of name.
type Swept struct {
	NoFile []string // were entered as complete, but the file is gone; phones are asked for them again
	NoRow  []string // whole files that were not entered; they are entered now
	Old    []string // parts untouched for 30 days, removed
}

// Sweep compares the folder with the rows. Whole files without a row are entered, parts that nobody goes on with are
// removed, photos whose file is gone are asked for again.
func (p *Photos) Sweep(ctx context.Context, now time.Time) (Swept, error) {
	if err := p.Erase(ctx); err != nil {
		return Swept{}, err
	}
	rows, err := p.store.PhotoList(ctx)
	if err != nil {
		return Swept{}, err
	}
	files := map[string]bool{}
	found := Swept{NoFile: []string{}, NoRow: []string{}, Old: []string{}}
	entered := map[string]bool{}
	for _, row := range rows {
		entered[row.SHA] = true
	}
	err = fs.WalkDir(p.dir.FS(), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		return p.sweepFile(ctx, path, d, now, entered, files, &found)
	})
	if err != nil {
		return found, err
	}
	for _, row := range rows {
		if files[row.SHA] {
			continue
		}
		found.NoFile = append(found.NoFile, row.SHA)
		if err := p.store.PhotoGone(ctx, row.SHA); err != nil {
			return found, err
		}
	}
	return found, nil
}

func (p *Photos) sweepFile(ctx context.Context, path string, d fs.DirEntry, now time.Time, entered, files map[string]bool, found *Swept) error {
	sha, isPart := strings.CutSuffix(d.Name(), ".part")
	if !isSHA(sha) || path != whole(sha) && path != part(sha) {
		return nil
	}
	if isPart {
		return p.sweepPart(path, d, now, found)
	}
	files[sha] = true
	if entered[sha] {
		return nil
	}
	size, err := p.size(path)
	if err != nil {
		return photoFault(sha, err)
	}
	found.NoRow = append(found.NoRow, sha)
	_, err = p.finish(ctx, store.Photo{SHA: sha, Size: size})
	return err
}

func (p *Photos) sweepPart(path string, d fs.DirEntry, now time.Time, found *Swept) error {
	info, err := d.Info()
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	sha := strings.TrimSuffix(d.Name(), ".part")
	if now.Sub(info.ModTime()) < partAge || !p.enter(sha) {
		return nil
	}
	defer p.leave(sha)
	found.Old = append(found.Old, sha)
	return p.dir.Remove(path)
}

// Erase removes the files of photos whose rows were erased.
func (p *Photos) Erase(ctx context.Context) error {
	list, err := p.store.ErasedPhotos(ctx)
	if err != nil {
		return err
	}
	for _, sha := range list {
		if err := p.dir.Remove(whole(sha)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return photoFault(sha, err)
		}
		if err := p.store.PhotoErased(ctx, sha); err != nil {
			return err
		}
	}
	return nil
}
