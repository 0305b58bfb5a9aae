package intake

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"testing/iotest"

	"swardbook/store"
)

func body(ops string) string {
	return `{"proto":1,"app":"b1","device":"d1","epoch":"e1","sent":"2026-08-27T09:00:00.000Z","unsent":3,"ops":[` + ops + `]}`
}

func TestDecodeKeepsEveryByteOfAnOperation(t *testing.T) {
	odd := `{ "n":41 , "id":"0199a","body":{"typed":"\ud800 2½","x":9007199254740993},"author":[],"at":{} }`
	req, err := Decode(strings.NewReader(body(odd+`,{"n":42,"id":"0199b"}`)), 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := string(req.Ops[0].Raw); got != odd {
		t.Errorf("bytes changed:\n got %s\nwant %s", got, odd)
	}
	slow, err := slowly([]byte(body(odd)))
	if err != nil || string(slow.Ops[0].Raw) != odd {
		t.Errorf("bytes changed on the slow way: %s, %v", slow.Ops[0].Raw, err)
	}
	if req.Ops[1].N != 42 || req.Ops[1].ID != "0199b" || req.Unsent != 3 || req.Sent.Hour() != 9 {
		t.Errorf("decoded %+v", req)
	}
}

func TestDecodeAsksOnly(t *testing.T) {
	req, err := Decode(strings.NewReader(body("")), 0)
	if err != nil || req.Ops == nil || len(req.Ops) != 0 {
		t.Errorf("an empty push: %+v, %v", req, err)
	}
}

func TestDecodeRefuses(t *testing.T) {
	var many []string
	for n := range MaxOps + 1 {
		many = append(many, fmt.Sprintf(`{"n":%d,"id":"i%d"}`, n+1, n))
	}
	whole := body(`{"n":1,"id":"a"}`)
	for name, c := range map[string]struct {
		body string
		kind store.Kind
	}{
		"nothing":             {"", store.Invalid},
		"half":                {whole[:len(whole)/2], store.Invalid},
		"not JSON":            {"n=1&id=a", store.Invalid},
		"more behind":         {whole + "{}", store.Invalid},
		"a list":              {"[]", store.Invalid},
		"null":                {"null", store.Invalid},
		"no proto":            {`{"device":"d","ops":[]}`, store.Invalid},
		"proto as text":       {`{"proto":"1","device":"d","ops":[]}`, store.Invalid},
		"old proto":           {`{"proto":0,"device":"d","ops":[]}`, store.Outdated},
		"new proto":           {`{"proto":2,"device":"d","ops":[]}`, store.Outdated},
		"no device":           {`{"proto":1,"ops":[]}`, store.Invalid},
		"device with a blank": {`{"proto":1,"device":"a b","ops":[]}`, store.Invalid},
		"long device":         {`{"proto":1,"device":"` + strings.Repeat("d", 65) + `","ops":[]}`, store.Invalid},
		"no ops":              {`{"proto":1,"device":"d"}`, store.Invalid},
		"ops as object":       {`{"proto":1,"device":"d","ops":{}}`, store.Invalid},
		"sent not a time":     {`{"proto":1,"device":"d","sent":"nine","ops":[]}`, store.Invalid},
		"unsent negative":     {`{"proto":1,"device":"d","unsent":-1,"ops":[]}`, store.Invalid},
		"op a number":         {body("7"), store.Invalid},
		"op null":             {body("null"), store.Invalid},
		"op without n":        {body(`{"id":"a"}`), store.Invalid},
		"op without id":       {body(`{"n":1}`), store.Invalid},
		"n as text":           {body(`{"n":"1","id":"a"}`), store.Invalid},
		"n with a fraction":   {body(`{"n":1.5,"id":"a"}`), store.Invalid},
		"n zero":              {body(`{"n":0,"id":"a"}`), store.Invalid},
		"id empty":            {body(`{"n":1,"id":""}`), store.Invalid},
		"a hole":              {body(`{"n":1,"id":"a"},{"n":3,"id":"b"}`), store.Invalid},
		"the same n twice":    {body(`{"n":1,"id":"a"},{"n":1,"id":"b"}`), store.Invalid},
		"too many":            {body(strings.Join(many, ",")), store.TooLarge},
		"too large":           {body(`{"n":1,"id":"a","pad":"` + strings.Repeat("x", MaxBytes) + `"}`), store.TooLarge},
	} {
		_, err := Decode(strings.NewReader(c.body), 0)
		var e *store.Error
		if !errors.As(err, &e) || e.Kind != c.kind || e.Say == "" {
			t.Errorf("%s: %v (kind %v), want kind %v and a sentence", name, err, store.KindOf(err), c.kind)
		}
	}
}

func TestDecodeOfABrokenConnection(t *testing.T) {
	_, err := Decode(iotest.ErrReader(errors.New("cut")), 0)
	if store.KindOf(err) != store.Invalid {
		t.Errorf("got %v", err)
	}
}

func TestDecodeBehindALimitOfTheServer(t *testing.T) {
	r := http.MaxBytesReader(nil, io.NopCloser(strings.NewReader(body(strings.Repeat(" ", 2000)))), 1000)
	if _, err := Decode(r, 0); store.KindOf(err) != store.TooLarge {
		t.Errorf("got %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(body(`{"n":1,"id":"a","body":{"typed":"2 1/2"}},{"n":2,"id":"b"}`)))
	f.Add([]byte(body(`{"n":1}`)))
	f.Add([]byte(`{"proto":1,"device":"d","ops":[{"n":9007199254740993,"id":"a"}]}`))
	f.Add([]byte("\xff\xfe{"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		req, err := Decode(bytes.NewReader(raw), 1<<16)
		if err != nil {
			var e *store.Error
			if !errors.As(err, &e) || e.Say == "" {
				t.Fatalf("an error without a sentence: %v", err)
			}
			return
		}
		if req.Device == "" || len(req.Ops) > MaxOps {
			t.Fatalf("taken: %+v", req)
		}
		for i, op := range req.Ops {
			if !json.Valid(op.Raw) || !bytes.Contains(raw, op.Raw) || op.ID == "" || op.N != req.Ops[0].N+int64(i) {
				t.Fatalf("operation %d: %+v", i, op)
			}
		}
	})
}
