"""What `tests/bench/run` measures, and in which order. Two sides of a comparison always take turns."""
import argparse
import json
import os
import pathlib
import time

import commands
import hours
import page
import start
from cluster import Cluster

PARTS = ('hours', 'commands', 'start')
WHOLE = {'rounds': 3, 'seconds': 6, 'changes': (1_000_000, 10_000_000), 'entries': 1_000_000}
QUICK = {'rounds': 1, 'seconds': 2, 'changes': (100_000,), 'entries': 20_000}


def arguments():
    parser = argparse.ArgumentParser()
    parser.add_argument('--programs', type=pathlib.Path, required=True)
    parser.add_argument('--folder', type=pathlib.Path, required=True)
    parser.add_argument('--quick', action='store_true')
    parser.add_argument('--only', action='append', choices=PARTS)
    parser.add_argument('--keep', type=pathlib.Path)
    return parser.parse_args()


def main():
    given = arguments()
    size = QUICK if given.quick else WHOLE
    parts = given.only or PARTS
    programs = {'spindlebook': str((given.programs / 'spindlebook').absolute()),
                'bench': [str((given.programs / 'bench').absolute())]}
    measured = {'machine': page.machine(), 'size': size, 'load_before': os.getloadavg()[0]}
    began = time.monotonic()
    if 'hours' in parts:
        measured['hours'] = [hours.measure(programs['bench'], given.folder, changes, size['rounds'])
                             for changes in size['changes']]
        print(page.hours(measured), flush=True)
    if 'commands' in parts or 'start' in parts:
        cluster = Cluster(given.folder)
        try:
            measured['postgres'] = cluster.version
            if 'commands' in parts:
                measured['commands'] = commands.measure(programs, given.folder, cluster, size['rounds'], size['seconds'])
                print(page.commands(measured), flush=True)
            if 'start' in parts:
                measured['start'] = start.measure(programs, given.folder, cluster, size['rounds'], size['entries'],
                                                  size['seconds'])
                print(page.start(measured), flush=True)
        finally:
            cluster.end()
    measured['load_after'] = os.getloadavg()[0]
    measured['minutes'] = (time.monotonic() - began) / 60
    if given.keep:
        given.keep.write_text(json.dumps(measured, indent=1))
    if not given.quick and not given.only:
        pathlib.Path('docs/performance.md').write_text(page.whole(measured))
        print('written: docs/performance.md')


if __name__ == '__main__':
    main()
