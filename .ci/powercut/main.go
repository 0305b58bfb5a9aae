// Command powercut mounts a folder as a disk whose power can be cut: what was not synced when it happens is lost, or
// survives in part. It is for tests, which talk to it on standard input, one command a line, and read one line for each:
//
//	powercut BACKING MOUNT     mounts, and says "ready"
//	fail N                     every sync from the N-th on fails, as on a broken disk; says "failing"
//	cut SEED                   nothing is written any more; says "cut". SEED 0 loses all that was not synced, any other some of it
//	write DIR                  writes what the disk holds after the cut into an empty folder; says "written"
//
// It behaves as a journaling file system does: a sync makes the content of its own file durable, and all names, folders and
// removals up to then.
package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"

	fusefs "github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

const block = 4096

// file is the content of one file: what is durable of it, and which blocks were written since.
type file struct {
	durable []byte
	dirty   map[int64]bool
}

// name is what a name stands for.
type name struct {
	mode fs.FileMode
	link string
	file *file
}

type disk struct {
	backing string

	mu     sync.Mutex
	files  map[uint64]*file // by inode, as they are now
	names  map[string]name  // durable
	syncs  int
	failAt int
	off    bool
	after  map[string][]byte // content at the cut
}

func (d *disk) of(ino uint64) *file {
	f := d.files[ino]
	if f == nil {
		f = &file{dirty: map[int64]bool{}}
		d.files[ino] = f
	}
	return f
}

func inode(path string) (uint64, error) {
	var st syscall.Stat_t
	err := syscall.Lstat(path, &st)
	return st.Ino, err
}

// change runs do unless the power is off, and notes which blocks of the file it may have changed.
func (d *disk) change(ino uint64, from, to int64, do func() syscall.Errno) syscall.Errno {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.off {
		return syscall.EIO
	}
	errno := do()
	f := d.of(ino)
	for b := from / block; b*block < to; b++ {
		f.dirty[b] = true
	}
	return errno
}

// sync makes one file durable, and all names.
func (d *disk) sync(path string) syscall.Errno {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.syncs++
	if d.off || d.failAt > 0 && d.syncs >= d.failAt {
		return syscall.EIO
	}
	if ino, err := inode(path); err == nil {
		if err := d.settle(d.of(ino), path); err != nil {
			return syscall.EIO
		}
	}
	names, err := d.walk()
	if err != nil {
		return syscall.EIO
	}
	d.names = names
	return 0
}

// settle reads the changed blocks of a file into what is durable of it.
func (d *disk) settle(f *file, path string) error {
	info, err := os.Lstat(path)
	if err != nil || !info.Mode().IsRegular() {
		return err
	}
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer in.Close()
	f.durable = sized(f.durable, info.Size())
	for b := range f.dirty {
		if err := readBlock(in, f.durable, b); err != nil {
			return err
		}
	}
	clear(f.dirty)
	return nil
}

func readBlock(in *os.File, into []byte, b int64) error {
	if b*block >= int64(len(into)) {
		return nil
	}
	_, err := in.ReadAt(into[b*block:min((b+1)*block, int64(len(into)))], b*block)
	return err
}

func sized(b []byte, size int64) []byte {
	if int64(len(b)) >= size {
		return b[:size]
	}
	return append(b, make([]byte, size-int64(len(b)))...)
}

// walk lists all names as they are now.
func (d *disk) walk() (map[string]name, error) {
	names := map[string]name{}
	err := filepath.WalkDir(d.backing, func(path string, e fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || path == d.backing {
			return err
		}
		info, err := e.Info()
		if err != nil {
			return nil // it went meanwhile
		}
		n := name{mode: info.Mode()}
		if info.Mode()&fs.ModeSymlink != 0 {
			n.link, _ = os.Readlink(path)
		} else if info.Mode().IsRegular() {
			n.file = d.of(info.Sys().(*syscall.Stat_t).Ino)
		}
		names[strings.TrimPrefix(path, d.backing+"/")] = n
		return nil
	})
	return names, err
}

// cut stops everything and decides what survives.
func (d *disk) cut(seed uint64) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.off = true
	chance := rand.New(rand.NewPCG(seed, 1))
	d.after = map[string][]byte{}
	for path, n := range d.names {
		if n.file == nil {
			continue
		}
		content := append([]byte{}, n.file.durable...)
		if seed != 0 {
			content = d.torn(n.file, filepath.Join(d.backing, path), content, chance)
		}
		d.after[path] = content
	}
	return nil
}

// torn adds some of the blocks that were written and not synced.
func (d *disk) torn(f *file, path string, content []byte, chance *rand.Rand) []byte {
	ino, err := inode(path)
	if err != nil || d.files[ino] != f { // the name stands for another file by now
		return content
	}
	in, err := os.Open(path)
	if err != nil {
		return content
	}
	defer in.Close()
	for b := range f.dirty {
		if chance.IntN(2) == 0 {
			continue
		}
		piece := make([]byte, block)
		n, _ := in.ReadAt(piece, b*block)
		if n == 0 {
			continue
		}
		content = sized(content, max(int64(len(content)), b*block+int64(n)))
		copy(content[b*block:], piece[:n])
	}
	return content
}

// write lays what the disk holds after the cut into dir.
func (d *disk) write(dir string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	for path, n := range d.names {
		to := filepath.Join(dir, path)
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		var err error
		switch {
		case n.mode.IsDir():
			err = os.MkdirAll(to, 0o755)
		case n.link != "":
			err = os.Symlink(n.link, to)
		case n.file != nil:
			err = os.WriteFile(to, d.after[path], n.mode.Perm())
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// node is a file or folder that passes everything on to the folder behind it and notes what is not durable yet.
type node struct {
	fusefs.LoopbackNode
	disk *disk
}

func (n *node) real() string { return filepath.Join(n.disk.backing, n.Path(n.Root())) }

func (n *node) WrapChild(_ context.Context, ops fusefs.InodeEmbedder) fusefs.InodeEmbedder {
	if loop, ok := ops.(*fusefs.LoopbackNode); ok {
		return &node{LoopbackNode: fusefs.LoopbackNode{RootData: loop.RootData}, disk: n.disk}
	}
	return ops
}

func (n *node) Create(ctx context.Context, called string, flags, mode uint32, out *fuse.EntryOut) (*fusefs.Inode, fusefs.FileHandle, uint32, syscall.Errno) {
	if n.disk.isOff() {
		return nil, nil, 0, syscall.EIO
	}
	_, err := inode(filepath.Join(n.real(), called))
	child, h, f, errno := n.LoopbackNode.Create(ctx, called, flags, mode, out)
	if ino, got := inode(filepath.Join(n.real(), called)); err != nil && got == nil {
		n.disk.fresh(ino)
	}
	return child, covered(h), f, errno
}

// fresh forgets a removed file whose inode is used again.
func (d *disk) fresh(ino uint64) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.files, ino)
}

func (d *disk) isOff() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.off
}

func (n *node) Open(ctx context.Context, flags uint32) (fusefs.FileHandle, uint32, syscall.Errno) {
	if flags&syscall.O_TRUNC != 0 {
		if info, err := os.Lstat(n.real()); err == nil {
			if errno := n.disk.change(info.Sys().(*syscall.Stat_t).Ino, 0, info.Size(), func() syscall.Errno { return 0 }); errno != 0 {
				return nil, 0, errno
			}
		}
	}
	h, flags, errno := n.LoopbackNode.Open(ctx, flags)
	return covered(h), flags, errno
}

// covered hides from the system what lies behind a file, so that every write comes by.
func covered(h fusefs.FileHandle) fusefs.FileHandle {
	if loop, ok := h.(*fusefs.LoopbackFile); ok {
		return &handle{loop}
	}
	return h
}

type handle struct{ loop *fusefs.LoopbackFile }

func (h *handle) Read(ctx context.Context, buf []byte, off int64) (fuse.ReadResult, syscall.Errno) {
	return h.loop.Read(ctx, buf, off)
}

func (h *handle) Release(ctx context.Context) syscall.Errno { return h.loop.Release(ctx) }

func (h *handle) Getattr(ctx context.Context, out *fuse.AttrOut) syscall.Errno {
	return h.loop.Getattr(ctx, out)
}

func (n *node) Write(ctx context.Context, h fusefs.FileHandle, data []byte, off int64) (written uint32, errno syscall.Errno) {
	loop := h.(*handle).loop
	var at fuse.AttrOut
	if errno := loop.Getattr(ctx, &at); errno != 0 {
		return 0, errno
	}
	errno = n.disk.change(at.Ino, off, off+int64(len(data)), func() (e syscall.Errno) {
		written, e = loop.Write(ctx, data, off)
		return e
	})
	return written, errno
}

func (n *node) Setattr(ctx context.Context, h fusefs.FileHandle, in *fuse.SetAttrIn, out *fuse.AttrOut) (errno syscall.Errno) {
	size, ok := in.GetSize()
	info, err := os.Lstat(n.real())
	if !ok || err != nil {
		return n.LoopbackNode.Setattr(ctx, nil, in, out)
	}
	// What lies behind the new end is zero when the file grows again, so it counts as changed.
	return n.disk.change(info.Sys().(*syscall.Stat_t).Ino, int64(size), max(int64(size)+1, info.Size()), func() syscall.Errno { return n.LoopbackNode.Setattr(ctx, nil, in, out) })
}

func (n *node) Fsync(context.Context, fusefs.FileHandle, uint32) syscall.Errno {
	return n.disk.sync(n.real())
}

// OpendirHandle is a folder that is being read, or synced.
func (n *node) OpendirHandle(ctx context.Context, flags uint32) (fusefs.FileHandle, uint32, syscall.Errno) {
	h, flags, errno := n.LoopbackNode.OpendirHandle(ctx, flags)
	if errno != 0 {
		return nil, 0, errno
	}
	return &folder{h.(stream), n}, flags, 0
}

// stream is what reading a folder needs.
type stream interface {
	fusefs.FileReaddirenter
	fusefs.FileSeekdirer
	fusefs.FileReleasedirer
}

type folder struct {
	stream
	node *node
}

func (f *folder) Fsyncdir(context.Context, uint32) syscall.Errno {
	return f.node.disk.sync(f.node.real())
}

// Rename, Unlink and the like are refused without power, and durable with the next sync.
func (n *node) Rename(ctx context.Context, from string, parent fusefs.InodeEmbedder, to string, flags uint32) syscall.Errno {
	if n.disk.isOff() {
		return syscall.EIO
	}
	return n.LoopbackNode.Rename(ctx, from, parent, to, flags)
}

func (n *node) Unlink(ctx context.Context, called string) syscall.Errno {
	if n.disk.isOff() {
		return syscall.EIO
	}
	return n.LoopbackNode.Unlink(ctx, called)
}

func main() {
	if err := run(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(backing, mount string) error {
	d := &disk{backing: filepath.Clean(backing), files: map[uint64]*file{}, names: map[string]name{}}
	var st syscall.Stat_t
	if err := syscall.Stat(backing, &st); err != nil {
		return err
	}
	root := &node{disk: d}
	root.RootData = &fusefs.LoopbackRoot{Path: d.backing, Dev: uint64(st.Dev), RootNode: root}
	moment := 50 * time.Millisecond
	server, err := fusefs.Mount(mount, root, &fusefs.Options{
		AttrTimeout: &moment, EntryTimeout: &moment,
		MountOptions: fuse.MountOptions{FsName: "powercut", Name: "powercut", DirectMount: true, DisableXAttrs: true, MaxWrite: 128 << 10},
	})
	if err != nil {
		return err
	}
	defer syscall.Unmount(mount, syscall.MNT_DETACH)
	_ = server
	fmt.Println("ready")
	in := bufio.NewScanner(os.Stdin)
	for in.Scan() {
		verb, arg, _ := strings.Cut(in.Text(), " ")
		said, err := d.command(verb, arg)
		if err != nil {
			return err
		}
		fmt.Println(said)
	}
	return in.Err()
}

func (d *disk) command(verb, arg string) (string, error) {
	switch verb {
	case "fail":
		n, err := strconv.Atoi(arg)
		d.mu.Lock()
		d.failAt = d.syncs + n
		d.mu.Unlock()
		return "failing", err
	case "cut":
		seed, err := strconv.ParseUint(arg, 10, 64)
		return "cut", errors.Join(err, d.cut(seed))
	case "write":
		return "written", d.write(arg)
	}
	return "", fmt.Errorf("unknown command %q", verb)
}
