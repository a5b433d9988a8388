"""What `tests/bench/run` measures, and in which order. Two sides of a comparison always take turns."""
import argparse
import json
import os
import pathlib
import time

import commands
import hours
import page
import plan
import shop
import start
from cluster import Cluster

PARTS = ('hours', 'commands', 'start', 'shop', 'plan')
WITHOUT_POSTGRES = ('hours', 'plan')
WHOLE = {'rounds': 3, 'seconds': 6, 'changes': (1_000_000, 10_000_000), 'entries': 1_000_000,
         'plan_seconds': (1, 10), 'loads': (40, 100, 300)}
QUICK = {'rounds': 1, 'seconds': 2, 'changes': (100_000,), 'entries': 20_000, 'plan_seconds': (1,),
         'loads': (40,)}


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
    programs = {'spindlebook': str((given.programs / 'spindlebook').absolute()),
                'bench': [str((given.programs / 'bench').absolute())]}
    measured = json.loads(given.keep.read_text()) if given.keep and given.keep.exists() else {}
    measured.update(machine=page.machine(), size=size)
    cluster = None
    for part in given.only or PARTS:
        if part not in WITHOUT_POSTGRES and not cluster:
            cluster = Cluster(given.folder)
            measured['postgres'] = cluster.version
        try:
            measured[part] = with_circumstances(lambda: run(part, programs, given.folder, cluster, size))
        except BaseException:
            if cluster:
                cluster.end()
            raise
        print(page.SECTIONS[part](measured), flush=True)
        if given.keep:
            given.keep.write_text(json.dumps(measured, indent=1))
    if cluster:
        cluster.end()
    if not given.quick:
        pathlib.Path('docs/performance.md').write_text(page.whole(measured))
        print('written: docs/performance.md')


def run(part, programs, folder, cluster, size):
    if part == 'hours':
        return {'years': [hours.measure(programs['bench'], folder, changes, size['rounds']) for changes in size['changes']]}
    if part == 'commands':
        return commands.measure(programs, folder, cluster, size['rounds'], size['seconds'])
    if part == 'plan':
        return plan.measure(programs['spindlebook'], folder, size['rounds'], size['plan_seconds'], size['loads'])
    if part == 'shop':
        return shop.measure(programs, folder, cluster, size['rounds'], size['seconds'])
    return {'engines': start.measure(programs, folder, cluster, size['rounds'], size['entries'], size['seconds'])}


def with_circumstances(measure):
    """When it was, of what, and how busy the machine was with other things before we made it busy."""
    began, at, load = time.monotonic(), time.strftime('%Y-%m-%d %H:%M UTC', time.gmtime()), os.getloadavg()[0]
    commit = page.commit()
    result = measure()
    return {**result, 'at': at, 'commit': commit, 'load_before': load, 'minutes': (time.monotonic() - began) / 60}


if __name__ == '__main__':
    main()
