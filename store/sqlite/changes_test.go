package sqlite_test

import (
	"reflect"
	"strings"
	"testing"

	"swardbook/store"
)

func TestWhatIsChangedAndArchivedComesBack(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	p := h.property.ID
	h.must(h.DB.SaveProperty(ctx, store.Property{ID: p, Address: "14 Alder Rise, rear", System: "none", Region: "north", Cautions: []string{"Dog"}}))
	for _, consent := range store.Consents {
		h.must(h.DB.SaveClient(ctx, store.Client{ID: h.property.Client, Name: "Marsh", Photos: consent}))
		if c, err := h.DB.Client(ctx, h.property.Client); err != nil || c.Photos != consent {
			t.Errorf("the client said %q of photos, not %q: %v", consent, c.Photos, err)
		}
	}
	if h.DB.SaveClient(ctx, store.Client{ID: h.property.Client, Name: "Marsh", Photos: "perhaps"}) == nil {
		t.Error("an answer that is none was kept")
	}
	place := &store.LonLat{-74.25, 40.5}
	h.must(h.DB.SaveSketch(ctx, p, place, []store.Zone{{ID: h.front, AreaSqFt: 812.5, Outline: `[[-74.25,40.5],[-74.2499,40.5],[-74.2499,40.5001]]`}}))
	got, err := h.DB.Property(ctx, p)
	if err != nil || got.Address != "14 Alder Rise, rear" || got.System != "none" || !reflect.DeepEqual(got.Place, place) || !reflect.DeepEqual(got.Cautions, []string{"Dog"}) {
		t.Errorf("%+v %v", got, err)
	}
	z, err := h.DB.Zone(ctx, h.front)
	if err != nil || z.AreaSqFt != 812.5 || !strings.HasPrefix(z.Outline, "[[-74.25,") || z.Name != "Front lawn" {
		t.Errorf("%+v %v", z, err)
	}
	wantKind(t, h.DB.SaveSketch(ctx, p, place, []store.Zone{{ID: "none"}}), store.NotFound)
	wantKind(t, h.DB.SaveSketch(ctx, "none", place, nil), store.NotFound)
	h.must(h.DB.SaveZone(ctx, store.Zone{ID: z.ID, Name: "Front", AreaSqFt: 900}))
	if line := h.audit(store.AuditFilter{About: z.ID, What: "zone.changed", Limit: 1}); line[0].Detail != "Front lawn → Front, 812 → 900 sq ft" {
		t.Errorf("the line says %q", line[0].Detail)
	}
	h.must(h.DB.ArchiveZone(ctx, z.ID, false))
	if z, err := h.DB.Zone(ctx, z.ID); err != nil || z.Archived.IsZero() || z.Outline == "" {
		t.Errorf("%+v %v", z, err)
	}
	h.must(h.DB.ArchiveZone(ctx, z.ID, true))
	if z, err := h.DB.Zone(ctx, z.ID); err != nil || !z.Archived.IsZero() {
		t.Errorf("%+v %v", z, err)
	}
	for _, err := range []error{h.DB.SaveClient(ctx, store.Client{ID: "x", Name: "X"}), h.DB.ArchiveClient(ctx, "x", false), h.DB.ArchiveProperty(ctx, "x", false), h.DB.ArchiveZone(ctx, "x", true),
		h.DB.SaveProperty(ctx, store.Property{ID: "x", Address: "A"}), h.DB.SaveZone(ctx, store.Zone{ID: "x", Name: "Z"}), h.DB.SavePerson(ctx, store.Person{ID: "x", Name: "X", Role: store.Crew})} {
		wantKind(t, err, store.NotFound)
	}
}

func TestOnlyPlannedVisitsLeaveWithWhatIsArchived(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	count := func() int {
		list, err := h.DB.Visits(ctx, store.VisitFilter{Property: h.property.ID, AtWork: true})
		h.must(err)
		return len(list)
	}
	all := count()
	h.must(h.DB.SetVisitState(ctx, h.visit, store.UnderWay, ""))
	h.must(h.DB.ArchiveProperty(ctx, h.property.ID, false))
	if n := count(); n != 1 || all < 2 {
		t.Errorf("%d of %d stay, only the one under way should", n, all)
	}
	h.must(h.DB.ArchiveProperty(ctx, h.property.ID, true))
	h.must(h.DB.ArchiveClient(ctx, h.property.Client, false))
	if n := count(); n != 1 {
		t.Errorf("%d stay of an archived client", n)
	}
	h.must(h.DB.ArchiveClient(ctx, h.property.Client, true))
	if n := count(); n != all {
		t.Errorf("%d are back, %d were there", n, all)
	}
}

func TestSavingAPersonKeepsNamesApartAndAnOwner(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	wantKind(t, h.DB.SavePerson(ctx, store.Person{ID: "jonah", Name: " IRIS", Role: store.Crew, Lang: "en"}), store.Conflict)
	wantKind(t, h.DB.SavePerson(ctx, store.Person{ID: "iris", Name: "Iris", Role: store.Manager, Lang: "en"}), store.Conflict)
	h.must(h.DB.SavePerson(ctx, store.Person{ID: "jonah", Name: "Jonah B", Role: store.Owner, Lang: "es"}))
	h.must(h.DB.SavePerson(ctx, store.Person{ID: "iris", Name: "Iris", Role: store.Manager, Lang: "en"}))
	if p, err := h.DB.PersonByName(ctx, "jonah b"); err != nil || p.Role != store.Owner || p.Lang != "es" || !p.Active {
		t.Errorf("%+v %v", p, err)
	}
}

func TestMovingAVisitCountsBothSheetsAnew(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	var ids []string
	for range 3 {
		ids = append(ids, h.property.Visit("2026-09-01", "Jonah").ID)
	}
	moved := h.property.Visit("2026-09-02", "Mirela")
	sheet := func() string {
		list, err := h.DB.Visits(ctx, store.VisitFilter{Crew: "jonah", FromDay: "2026-09-01", ToDay: "2026-09-01"})
		h.must(err)
		out := make([]string, len(list))
		for i, v := range list {
			if v.Order != i+1 && i > 0 && v.Order <= list[i-1].Order {
				t.Errorf("places %d, %d", list[i-1].Order, v.Order)
			}
			out[i] = v.ID
		}
		return strings.Join(out, " ")
	}
	h.must(h.DB.MoveVisit(ctx, moved.ID, "2026-09-01", "jonah", 2))
	if got := sheet(); got != strings.Join([]string{ids[0], moved.ID, ids[1], ids[2]}, " ") {
		t.Error(got)
	}
	h.must(h.DB.MoveVisit(ctx, moved.ID, "2026-09-01", "jonah", 0))
	if got := sheet(); !strings.HasSuffix(got, " "+moved.ID) {
		t.Error(got)
	}
	h.must(h.DB.MoveVisit(ctx, ids[0], "2026-09-01", "", 1))
	if got := sheet(); strings.Contains(got, ids[0]) {
		t.Error(got)
	}
	wantKind(t, h.DB.MoveVisit(ctx, ids[0], "tomorrow", "", 1), store.Invalid)
	h.must(h.DB.SetVisitState(ctx, ids[1], store.HandedIn, ""))
	wantKind(t, h.DB.MoveVisit(ctx, ids[1], "2026-09-03", "", 1), store.Conflict)
	wantKind(t, h.DB.MoveVisit(ctx, "none", "2026-09-03", "", 1), store.NotFound)
}

func TestACalendarHasOneAddressThatEnds(t *testing.T) {
	h := newHouse(t)
	ctx := t.Context()
	h.must(h.DB.SetCalendar(ctx, []byte("one"), "jonah"))
	if c, err := h.DB.OpenCalendar(ctx, []byte("one")); err != nil || c.Person != "jonah" || c.Seen.IsZero() {
		t.Errorf("%+v %v", c, err)
	}
	h.must(h.DB.SetCalendar(ctx, []byte("two"), "jonah"))
	_, err := h.DB.OpenCalendar(ctx, []byte("one"))
	wantKind(t, err, store.NotFound)
	if c, err := h.DB.Calendar(ctx, "jonah"); err != nil || !c.Seen.IsZero() {
		t.Errorf("%+v %v", c, err)
	}
	h.must(h.DB.SetActive(ctx, "jonah", false))
	_, err = h.DB.OpenCalendar(ctx, []byte("two"))
	wantKind(t, err, store.NotFound)
	wantKind(t, h.DB.EndCalendar(ctx, "jonah"), store.NotFound)
}
