# The commands of the project. `make test` is everything; the rest are parts of it or by-products.
export CGO_ENABLED ?= 0

.PHONY: audit test lint vuln race fuzz engines bench pictures parts replica image-lint build release clean

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

# Every benchmark, with one firm of 10,000, 100,000 and 1,000,000 readings; less: make bench SWARDBOOK_READINGS=10000
bench: export SWARDBOOK_READINGS ?= 10000,100000,1000000
bench: export SWARDBOOK_RUSH ?= 20s
bench:
	go test -run '^$$' -bench . -benchtime 1s -timeout 30m ./...

# Lighthouse on the day sheet and the zone form; fails below 95. Its tools come from npm into .ci/audit/node_modules.
audit:
	@sh .ci/audit/audit.sh

# The race detector over everything that runs beside something else; it needs a C compiler and some minutes.
race:
	CGO_ENABLED=1 go test -race -count=1 -timeout 30m ./store/... ./web/... ./diagnose ./diagnose/learn ./diagnose/plan

# What phones hand over, mutated: make fuzz FUZZ=60s. Minimising an input is bounded, since coverage behind a database is never quite the same twice
# and would take all the time; files lie in memory where there is such a disk.
fuzz: FUZZ ?= 30s
fuzz: export TMPDIR := $(shell test -d /dev/shm && echo /dev/shm || echo /tmp)
fuzz:
	for target in FuzzDecode FuzzCopyFile FuzzCopy FuzzPhotoUpload FuzzQuick; do \
		go test ./store/intake -run '^$$' -fuzz "^$$target$$" -fuzztime $(FUZZ) -fuzzminimizetime 20x || exit 1; done

# Power cuts under Firefox and WebKit, which it installs from Debian's packages; more of them: make engines SWARDBOOK_ROUNDS=20
engines:
	@sh .ci/setup engines
	SWARDBOOK_ENGINES=1 go test -count=1 -v -timeout 30m -run TestA2PowerCutUnderOtherEngines ./server

# The Dockerfile by the builder's own rules.
image-lint:
	cd .ci/dockerlint && go run . ../../Dockerfile

# Makes the pictures of the README anew from the running program.
pictures:
	SWARDBOOK_PICTURES=$(CURDIR)/.ci/pictures go test -count=1 -run TestPictures ./server

# Pictures of every part of the phone's pages in every state, light and dark, in both languages, at 360, 390 and 768 px, for a person to look at.
parts: PARTS ?= /tmp/swardbook-parts
parts:
	mkdir -p $(PARTS)
	SWARDBOOK_PICTURES=$(PARTS) go test -count=1 -run TestEveryPartInEveryState ./server
	@ls $(PARTS)

# The way of continuous replication that the README shows, with the replicator itself, built outside the tree: minutes the first time.
replica: REPLICATOR ?= $(shell mktemp -d)
replica:
	GOBIN=$(REPLICATOR) go install github.com/benbjohnson/litestream/cmd/litestream@v0.5.18
	SWARDBOOK_REPLICATOR=$(REPLICATOR)/litestream go test -count=1 -v -run TestAReplicaIsRestored ./server

build:
	go build -trimpath -ldflags "-s -w" -o bin/swardbook ./server

# The program for every system it is handed out for, with checksums, outside the tree: make release OUT=/somewhere
release:
	@sh .ci/release $(OUT)

clean:
	rm -rf bin data
