package field

import (
	"context"
	"encoding/json"
	"net/http"
	"strconv"

	"swardbook/store"
)

// Feed is the log of what everybody recorded, as the phone's side reads it.
type Feed interface {
	Epoch(ctx context.Context) (string, error)
	Seq(ctx context.Context) (int64, error)
	Feed(ctx context.Context, since int64, limit int, visits []string) (store.FeedPage, error)
}

const mostRows = 500

// FeedRow is one operation as it goes out.
type FeedRow struct {
	Seq    int64           `json:"seq"`
	ID     string          `json:"id"`
	Device string          `json:"device"`
	Stamp  string          `json:"stamp"`
	Aside  bool            `json:"aside"`
	Op     json.RawMessage `json:"op"`
}

// FeedPage is a piece of the feed; Gone lists rows that no longer count.
type FeedPage struct {
	Epoch string    `json:"epoch"`
	Next  int64     `json:"next"`
	More  bool      `json:"more"`
	Rows  []FeedRow `json:"rows"`
	Gone  []int64   `json:"gone"`
}

// feed serves what came since a number, of the visits on the person's day sheet. Asked in another epoch it begins anew.
func (f *Field) feed(w http.ResponseWriter, r *http.Request) error {
	from, err := sender(r)
	if err != nil {
		return err
	}
	since, limit, ok := window(r)
	if !ok {
		return refuse(w, http.StatusBadRequest, "malformed", "The feed is asked for with since and limit as whole numbers.")
	}
	epoch, err := f.db.Epoch(r.Context())
	if err != nil {
		return err
	}
	if r.URL.Query().Get("epoch") != epoch {
		since = 0
	}
	visits, err := f.concerning(r.Context(), from.Person)
	if err != nil {
		return err
	}
	page, err := f.db.Feed(r.Context(), since, limit, visits)
	if err != nil {
		return err
	}
	out := FeedPage{Epoch: epoch, Next: page.Next, More: page.More, Rows: []FeedRow{}, Gone: append([]int64{}, page.Gone...)}
	for _, row := range page.Rows {
		out.Rows = append(out.Rows, FeedRow{Seq: row.Seq, ID: row.ID, Device: row.Device, Stamp: row.Stamp, Aside: row.Aside, Op: valid(row.Raw)})
	}
	return answer(w, http.StatusOK, out)
}

// valid keeps a row that is not JSON from spoiling the page.
func valid(raw []byte) json.RawMessage {
	if !json.Valid(raw) {
		return json.RawMessage("null")
	}
	return raw
}

// concerning are the ids of the visits that a person's phone hears about.
func (f *Field) concerning(ctx context.Context, who store.Person) ([]string, error) {
	firm, err := f.db.Firm(ctx)
	if err != nil {
		return nil, err
	}
	sheet, err := sheetOf(ctx, f.db, who, daysOf(f.now(), firm.Zone))
	ids := make([]string, 0, len(sheet))
	for _, v := range sheet {
		ids = append(ids, v.ID)
	}
	return ids, err
}

// window reads since and limit; what is missing is the beginning and a whole page.
func window(r *http.Request) (since int64, limit int, ok bool) {
	q := r.URL.Query()
	limit = mostRows
	var err error
	if s := q.Get("since"); s != "" {
		if since, err = strconv.ParseInt(s, 10, 64); err != nil || since < 0 {
			return 0, 0, false
		}
	}
	if s := q.Get("limit"); s != "" {
		if limit, err = strconv.Atoi(s); err != nil || limit < 1 {
			return 0, 0, false
		}
	}
	return since, min(limit, mostRows), true
}
