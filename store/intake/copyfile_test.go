package intake_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"strings"
	"testing"

	"swardbook/store"
	"swardbook/store/intake"
)

// jpeg is a photo as far as the office looks into it.
func jpeg(seed byte) (raw []byte, sha string) {
	raw = append([]byte{0xff, 0xd8, 0xff, 0xe0}, bytes.Repeat([]byte{seed}, 500)...)
	sum := sha256.Sum256(raw)
	return raw, hex.EncodeToString(sum[:])
}

func (h *house) photos() *intake.Photos {
	h.t.Helper()
	dir, err := os.OpenRoot(h.t.TempDir())
	h.must(err)
	h.t.Cleanup(func() { _ = dir.Close() })
	return intake.NewPhotos(dir, h.db)
}

// saved is the file that a phone hands over.
func (p *phone) saved(photos ...[]byte) []byte {
	p.h.t.Helper()
	list := []map[string]any{}
	for _, raw := range photos {
		sum := sha256.Sum256(raw)
		list = append(list, map[string]any{"sha": hex.EncodeToString(sum[:]), "size": len(raw), "type": "image/jpeg", "base64": base64.StdEncoding.EncodeToString(raw)})
	}
	head, err := json.Marshal(map[string]any{"kind": "swardbook-copy"})
	p.h.must(err)
	rest, err := json.Marshal(map[string]any{"proto": 1, "app": "b", "device": p.device, "epoch": "e", "sent": "2026-08-27T09:00:00.000Z"})
	p.h.must(err)
	ops, err := json.Marshal(p.ops)
	p.h.must(err)
	pictures, err := json.Marshal(list)
	p.h.must(err)
	return fmt.Appendf(nil, "%s,%s,\"ops\":%s,\"photos\":%s}\n", head[:len(head)-1], rest[1:len(rest)-1], ops, pictures)
}

func (h *house) takes(photos *intake.Photos, file []byte) intake.Copied {
	h.t.Helper()
	res, err := h.svc.Copy(h.t.Context(), intake.Sender{Person: h.owner}, photos, bytes.NewReader(file))
	h.must(err)
	return res
}

func TestASavedCopyIsTakenInOnce(t *testing.T) {
	h := openHouse(t)
	photos := h.photos()
	raw, sha := jpeg(1)
	p := h.phone("lost", h.ana) // it never got through, so nobody is known to have used it
	p.read("front", "tug_test", "firm")
	p.read("front", "core_depth_in", "far too deep")
	p.read("front", "photo", sha, "photos", []map[string]any{{"sha": sha, "size": len(raw), "type": "image/jpeg"}})
	h.clock.at = h.clock.at.AddDate(0, 0, 3) // the file lay on a desk
	file := p.saved(raw)
	if got := h.takes(photos, file); got.Rows != 3 || got.Fresh != 3 || got.Aside != 1 || got.Photos != 1 || got.FreshPhotos != 1 || len(got.Problems) != 0 || got.Device != "lost" {
		t.Errorf("%+v", got)
	}
	if got := h.takes(photos, file); got.Rows != 3 || got.Fresh != 0 || got.FreshPhotos != 0 {
		t.Errorf("the second time: %+v", got)
	}
	if got := h.current("visit"); !maps.Equal(got, map[string]string{"front/tug_test": "firm", "front/photo": sha}) {
		t.Errorf("readings %v", got)
	}
	list, err := h.db.Readings(t.Context(), "visit")
	h.must(err)
	if made := fmt.Sprintf("%012x", h.clock.at.AddDate(0, 0, -3).UnixMilli()); list[0].Author != "ana" || !strings.HasPrefix(list[0].Stamp, made) {
		t.Errorf("the days that the file lay moved the reading, or its author: %+v, made %s", list[0], made)
	}
	if r := p.send(); r.Through != 3 || len(r.Clash) != 0 || len(r.Attention) != 1 { // the phone is found again
		t.Errorf("%+v", r)
	}
	if ops, err := h.db.Ops(t.Context(), store.OpFilter{}); err != nil || len(ops) != 3 {
		t.Errorf("%d records, %v", len(ops), err)
	}
}

// TestASavedCopyThatNamesARecordTwice: what is new is counted once, also of a file that names one id twice with other content.
func TestASavedCopyThatNamesARecordTwice(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	id := p.read("front", "tug_test", "firm")
	p.read("front", "thatch_in", "0.5", "id", id)
	file := p.saved()
	if got := h.takes(h.photos(), file); got.Rows != 2 || got.Fresh != 1 {
		t.Errorf("%+v", got)
	}
	if got := h.takes(h.photos(), file); got.Rows != 2 || got.Fresh != 0 {
		t.Errorf("the second time: %+v", got)
	}
}

func TestASavedCopyOfAWithdrawnPhone(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.send()
	h.must(h.db.Withdraw(t.Context(), "d1", false))
	p.read("front", "thatch_in", "0.5")
	if _, err := p.trySend(p.ops); store.KindOf(err) != store.SignIn {
		t.Errorf("over the network: %v", err)
	}
	if got := h.takes(h.photos(), p.saved()); got.Fresh != 1 || got.Aside != 0 {
		t.Errorf("%+v", got)
	}
}

// TestD5ASavedCopyAfterARestore: the office forgot the numbers before those of the file.
func TestD5ASavedCopyAfterARestore(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	for range 700 {
		p.read("front", "thatch_in", "0.5")
	}
	p.ops = p.ops[25:]
	file := p.saved()
	if got := h.takes(h.photos(), file); got.Rows != 675 || got.Fresh != 675 {
		t.Errorf("%+v", got)
	}
	if got := h.takes(h.photos(), file); got.Fresh != 0 || got.Rows != 675 {
		t.Errorf("the second time: %+v", got)
	}
}

func TestASavedCopyThatIsNone(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	p.read("front", "thatch_in", "0.5")
	raw, _ := jpeg(2)
	whole := string(p.saved(raw))
	for name, file := range map[string]string{
		"nothing": "", "text": "hello", "a list": "[]", "another object": `{"a":1}`, "ops before whose they are": `{"ops":[]}`,
		"another kind": `{"kind":"x","proto":1,"device":"d","ops":[]}`, "another protocol": strings.Replace(whole, `"proto":1`, `"proto":9`, 1),
		"no device": strings.Replace(whole, `"device":"d1"`, `"device":""`, 1), "no records": `{"kind":"swardbook-copy","proto":1,"device":"d"}`,
		"a record without id": strings.Replace(whole, `"id":"d1-1"`, `"id":""`, 1), "numbers with a hole": strings.Replace(whole, `"n":2`, `"n":3`, 1),
		"kind is a number": `{"kind":7}`, "twice": `{"kind":"swardbook-copy","proto":1,"device":"d","ops":[],"ops":[]}`,
	} {
		_, err := h.svc.Copy(t.Context(), intake.Sender{Person: h.owner}, h.photos(), strings.NewReader(file))
		if store.KindOf(err) != store.Invalid || !strings.Contains(err.Error(), "not a copy") {
			t.Errorf("%s: %v", name, err)
		}
	}
	for cut := len(whole) - 3; cut > 0; cut -= 97 {
		_, err := h.svc.Copy(t.Context(), intake.Sender{Person: h.owner}, h.photos(), strings.NewReader(whole[:cut]))
		if store.KindOf(err) != store.Invalid {
			t.Fatalf("cut at %d: %v", cut, err)
		}
	}
	if got := h.takes(h.photos(), []byte(whole)); got.Rows != 2 || got.FreshPhotos != 1 {
		t.Errorf("after all that: %+v", got)
	}
}

func TestASavedCopyWithBadPhotos(t *testing.T) {
	h := openHouse(t)
	p := h.phone("d1", h.ana)
	p.read("front", "tug_test", "firm")
	good, _ := jpeg(3)
	spoilt, sha := jpeg(4)
	file := bytes.Replace(p.saved([]byte("MZ not a photo"), spoilt, good), []byte(base64.StdEncoding.EncodeToString(spoilt)[:40]), []byte(base64.StdEncoding.EncodeToString(good)[:40]), 1)
	file = bytes.Replace(file, []byte(sha), []byte(strings.Repeat("0", 64)), 1)
	file = bytes.Replace(file, []byte("image/jpeg"), []byte("text/plain"), 1)
	got := h.takes(h.photos(), file)
	if got.Photos != 3 || got.FreshPhotos != 1 || len(got.Problems) != 2 {
		t.Errorf("%+v", got)
	}
	for _, say := range got.Problems {
		if !strings.HasSuffix(say, ".") {
			t.Error(say)
		}
	}
}

// FuzzCopy: whatever the file, the office answers by sentence, takes nothing of it twice, and takes in a whole copy of an honest
// phone beside it. One office stands for many files, since opening one takes a hundred times as long as reading a file; a tilde in
// a file becomes a name that was not used before, so that one file doesn't stand in the way of the next.
func FuzzCopy(f *testing.F) {
	f.Add([]byte(`{"kind":"swardbook-copy","proto":1,"app":"b","device":"d~","epoch":"e","sent":"x","ops":[{"n":1,"id":"a~"}],"photos":[]}`))
	f.Add([]byte(`{"kind":"swardbook-copy","proto":1,"device":"d~","ops":[{"n":1,"id":"a~"},{"n":2,"id":"b~","body":{"zone":7}}],"photos":[{"sha":"0","base64":"!"}]}`))
	f.Add([]byte(`{"kind":"swardbook-copy","proto":1,"device":"d~","ops":[],"photos":[{"sha":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855","size":0,"type":"image/jpeg","base64":""}]}`))
	f.Add([]byte("{\"kind\":\"swardbook-copy\",\"proto\":1,\"device\":\"d~\",\"ops\":[{\"n\":1,\"id\":\"a~\",\"body\":{\"typed\":\"\\ud800\"}}"))
	f.Add([]byte(`{"kind":"swardbook-copy","proto":1,"device":"d~","ops":[{"n":7,"id":"a~","form":"reading","fver":1,"author":"ana","hlc":"x","at":"9999-12-31","body":{"visit":"visit","zone":"front","check":"tug_test","typed":"firm"}},{"n":8,"id":"a~","op":"edit"}],"photos":[]}`))
	shared := openHouse(f)
	photos, run := shared.photos(), 0
	f.Fuzz(func(t *testing.T, file []byte) {
		h := *shared
		h.t = t
		run++
		file = bytes.ReplaceAll(file, []byte("~"), fmt.Appendf(nil, "-%d", run))
		took, err := h.svc.Copy(t.Context(), intake.Sender{Person: h.owner}, photos, bytes.NewReader(file))
		if err != nil && store.KindOf(err) != store.Invalid && store.KindOf(err) != store.Conflict {
			t.Fatal(err)
		}
		if again, err := h.svc.Copy(t.Context(), intake.Sender{Person: h.owner}, photos, bytes.NewReader(file)); again.Fresh > 0 || again.FreshPhotos > 0 {
			t.Fatalf("first %+v, then %+v, %v", took, again, err)
		}
		p := h.phone(fmt.Sprintf("honest-%d", run), h.ana)
		p.read("front", "tug_test", "firm")
		if got := h.takes(photos, p.saved()); got.Fresh != 1 {
			t.Fatalf("%+v", got)
		}
	})
}
