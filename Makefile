# The commands of the project. `make test` is everything; the rest are parts of it or by-products.
export CGO_ENABLED ?= 0

.PHONY: test lint vuln bench pictures build release clean

test: setup lint vuln
	node --test static/jstest/
	go test -count=1 ./...

.PHONY: setup
setup:
	@sh .ci/setup

lint:
	@sh .ci/lint

vuln:
	@sh .ci/vuln

bench:
	go test -run '^$$' -bench . -benchtime 1s ./...

# Makes the pictures of the README anew from the running program.
pictures:
	SWARDBOOK_PICTURES=$(CURDIR)/.ci/pictures go test -count=1 -run TestPictures ./server

build:
	go build -trimpath -ldflags "-s -w" -o bin/swardbook ./server

# The program for every system it is handed out for, with checksums, outside the tree: make release OUT=/somewhere
release:
	@sh .ci/release $(OUT)

clean:
	rm -rf bin data
