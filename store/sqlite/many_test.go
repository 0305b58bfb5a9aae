package sqlite_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"swardbook/store"
)

// mixed is a phone with seventy records: most are readings in a row; some ids came before from the first phone, some come twice.
func mixed(h *house, random *rand.Rand) store.Batch {
	first := h.Phone("d1", "Jonah")
	for range 5 {
		first.Reads(h.visit, h.front, "tug_test", "firm")
	}
	first.Sends()
	p := h.Phone("d2", "Jonah")
	for i := range 70 {
		switch d := random.IntN(30); d {
		case 0:
			p.Moves(h.visit, store.UnderWay)
		case 1:
			p.Finds(h.visit, h.property.ID, fmt.Sprint("Strip ", i))
		case 2:
			p.Reads(h.visit, "nowhere", "tug_test", "firm")
		case 3, 4: // an id of the first phone, as it was or with other content
			it := p.Reads(h.visit, h.front, "tug_test", "firm")
			it.ID = fmt.Sprint("d1-", 1+random.IntN(5))
			if d == 3 {
				it.Raw = first.Kept[0].Raw
			}
		case 5: // an id of this phone again
			it := p.Reads(h.visit, h.front, "tug_test", "loose")
			it.ID = p.Kept[random.IntN(len(p.Kept))].ID
		case 6:
			p.Reads(h.visit, h.front, "photo", strings.Repeat("a", 64)).Photos = []store.Photo{{SHA: strings.Repeat("a", 64), Size: 9, Type: "image/jpeg"}}
		default:
			p.Reads(h.visit, h.front, "thatch_in", fmt.Sprint(i))
		}
	}
	return p.Batch(1, len(p.Kept))
}

// TestManyAtOnceIsOneAfterTheOther: what a statement of many rows stores, and answers, is what each row by itself does.
func TestManyAtOnceIsOneAfterTheOther(t *testing.T) {
	for seed := range uint64(5) {
		h, other := newHouse(t), newHouse(t)
		b, again := mixed(h, rand.New(rand.NewPCG(seed, 1))), mixed(other, rand.New(rand.NewPCG(seed, 1)))
		res, err := h.DB.Push(t.Context(), b)
		h.must(err)
		var single store.PushResult
		for i := range again.Items {
			one := again
			one.Items = again.Items[i : i+1]
			r, err := other.DB.Push(t.Context(), one)
			other.must(err)
			r.Fresh, r.Clash, r.Aside = append(single.Fresh, r.Fresh...), append(single.Clash, r.Clash...), r.Aside || single.Aside
			single = r
		}
		res.Epoch, single.Epoch = "", ""
		slices.Sort(res.Fresh)
		slices.Sort(single.Fresh)
		slices.Sort(res.Clash)
		slices.Sort(single.Clash)
		if !reflect.DeepEqual(res, single) {
			t.Fatalf("seed %d answers\n%+v\nand one by one\n%+v", seed, res, single)
		}
		if got, want := h.allOps(), other.allOps(); !reflect.DeepEqual(got, want) {
			t.Fatalf("seed %d stores\n%v\nand one by one\n%v", seed, got, want)
		}
		if got, want := h.readings(), other.readings(); !reflect.DeepEqual(got, want) {
			t.Fatalf("seed %d: readings\n%+v\nand one by one\n%+v", seed, got, want)
		}
	}
}

// allOps are the rows of the log and of other contents, in their order.
func (h *house) allOps() (list []string) {
	ops, err := h.DB.Ops(h.t.Context(), store.OpFilter{})
	h.must(err)
	for _, op := range ops {
		list = append(list, fmt.Sprint(op.Seq, op.ID, op.Device, op.N, op.Kind, op.Entity, op.Author, op.HLC, op.At, op.SentBy, op.Aside, string(op.Raw)))
	}
	asides, err := h.DB.Asides(h.t.Context(), store.AsideFilter{})
	h.must(err)
	for _, a := range asides {
		list = append(list, fmt.Sprint(a.ID, a.Device, a.N, a.Reason, string(a.Raw)))
	}
	return list
}
