.PHONY: test check run accuracy tables gallery
test:
	go test ./...
check:
	bash .ci/run fast
run:
	go run ./cmd/coldwright serve --demo
accuracy:
	go run ./cmd/accuracy
tables:
	go run ./cmd/tables
# Pictures of every page on phone and desk in light, dark and sun, under artifacts/gallery.
gallery:
	mkdir -p artifacts
	COLDWRIGHT_ARTIFACTS=$(CURDIR)/artifacts go test -count=1 -tags browser -run BrowserGallery -v ./web
