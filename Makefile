# Convenience only: Meson does the work.  `make run` and `make check` set up what they need.
BUILD ?= build
PORT  ?= 8470
PRODUCTS := inward inward-papers inward-live inward-plan

.PHONY: build run check bench fuzz soak fmt docs clean

build: | setup-run
	@test -f $(BUILD)/build.ninja || meson setup $(BUILD) --buildtype=release
	ninja -C $(BUILD) $(PRODUCTS)

run: build
	-$(BUILD)/inward air examples/quillmere/suite.yaml --scene busy
	$(BUILD)/inward serve examples/quillmere/suite.yaml --replay examples/quillmere/day.csv --source trend \
	  --speed 300 --record $(BUILD)/quillmere.record --port $(PORT)

check: | setup-check
	scripts/check

bench: | setup-check build
	scripts/bench

fuzz: | setup-check
	scripts/fuzz

soak: | setup-check build
	scripts/soak

fmt:
	git ls-files '*.c' '*.h' | xargs clang-format -i

docs: build
	scripts/print_docs $(BUILD)

setup-run:
	@scripts/setup run

setup-check:
	@scripts/setup check

.PHONY: setup-run setup-check
clean:
	rm -rf build build-*
