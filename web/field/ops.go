package field

import (
	"compress/gzip"
	"io"
	"net/http"

	"swardbook/store"
	"swardbook/store/intake"
)

// push takes in what a phone recorded. The answer is written only after everything in it is durable.
func (f *Field) push(w http.ResponseWriter, r *http.Request) error {
	from, err := sender(r)
	if err != nil {
		return err
	}
	if !sentAs(r, "application/json") {
		return refuse(w, http.StatusUnsupportedMediaType, "media_type", "What is recorded is sent as JSON. Everything is still kept on the phone.")
	}
	body, err := unpacked(w, r)
	if err != nil {
		return malformed(w, err)
	}
	if body == nil {
		return refuse(w, http.StatusUnsupportedMediaType, "media_type", "What is recorded is sent plain or packed with gzip. Everything is still kept on the phone.")
	}
	req, err := intake.Decode(body, intake.MaxBytes)
	if err != nil {
		return malformed(w, err)
	}
	reply, err := f.intake.Push(r.Context(), from, req)
	if err != nil {
		return err
	}
	return answer(w, reply.Status(), reply)
}

// unpacked is the body, unpacked when it came packed; nil when it came in a packing not known here. How much it may hold
// unpacked is the decoder's limit.
func unpacked(w http.ResponseWriter, r *http.Request) (io.Reader, error) {
	limited := http.MaxBytesReader(w, r.Body, intake.MaxBytes)
	switch r.Header.Get("Content-Encoding") {
	case "", "identity":
		return limited, nil
	case "gzip":
		z, err := gzip.NewReader(limited)
		if err != nil {
			return nil, &store.Error{Kind: store.Invalid, Say: "What the phone sent arrived damaged or cut short. Everything is still kept on the phone; send again.", Err: err}
		}
		return z, nil
	}
	return nil, nil
}
