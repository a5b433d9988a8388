"""A throw-away PostgreSQL that keeps what it acknowledges: fsync, synchronous_commit and full_page_writes are on.

It listens on a socket in its own folder and on nothing else. As root it runs as the user `postgres`.
"""
import os
import pathlib
import re
import shutil
import signal
import subprocess
import tempfile
import time

SETTINGS = '''
listen_addresses = ''
fsync = on
synchronous_commit = on
full_page_writes = on
shared_buffers = 256MB
max_wal_size = 4GB
max_connections = 200
'''
# One row, one transaction, made durable by itself: the payload is about as long as one of ours.
INSERT = '''insert into event (site, body) values (1, '{"machine":"0193f0c2-6f4e-7c0a-9a39-5a3c0f6e1b02",\
"clock_offset_us":0,"first_at":1735689600000000,"states":["ACTIVE"],"state":[0],"repeated":0,"out_of_order":0}');
'''
TABLE = '''drop table if exists event;
create table event (id bigint generated always as identity primary key, site int not null,
    at timestamptz not null default now(), body jsonb not null)'''


def programs():
    folders = sorted(pathlib.Path('/usr/lib/postgresql').glob('*/bin'), key=lambda folder: int(folder.parent.name))
    return pathlib.Path(os.environ.get('PG_BIN') or folders[-1])


class Cluster:
    def __init__(self, folder):
        self.bin = programs()
        self.user = {'user': 'postgres', 'group': 'postgres', 'extra_groups': []} if os.geteuid() == 0 else {}
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix='pg-', dir=folder))
        if self.user:
            shutil.chown(self.folder, 'postgres', 'postgres')
        self.data = self.folder / 'data'
        self.run('initdb', '-D', self.data, '-A', 'trust', '-U', 'postgres', '-E', 'UTF8', '--locale=C')
        with open(self.data / 'postgresql.conf', 'a') as settings:
            settings.write(f"{SETTINGS}unix_socket_directories = '{self.folder}'\n")
        with open(self.folder / 'log', 'w') as log:
            self.server = subprocess.Popen([self.bin / 'postgres', '-D', self.data], cwd='/', stdout=log, stderr=log,
                                           **self.user)
        while subprocess.run([self.bin / 'pg_isready', '-q', '-h', self.folder]).returncode:
            if self.server.poll() is not None:
                raise SystemExit((self.folder / 'log').read_text())
            time.sleep(.05)
        self.insert = self.folder / 'insert.sql'
        self.insert.write_text(INSERT)
        self.version = self.sql('show server_version')

    def run(self, program, *arguments):
        done = subprocess.run([self.bin / program, *map(str, arguments)], cwd='/', capture_output=True, text=True,
                              **self.user)
        if done.returncode:
            raise SystemExit(f'{program}: {done.stderr}')
        return done.stdout

    def sql(self, statement, database='postgres'):
        return self.run('psql', '-h', self.folder, '-U', 'postgres', '-AtqX', '-v', 'ON_ERROR_STOP=1', '-d', database,
                        '-c', statement).strip()

    def new_database(self, name):
        self.sql(f'drop database if exists {name} with (force)')
        self.sql(f'create database {name}')
        return f'postgres://postgres@localhost/{name}?host={self.folder}'

    def inserts_per_s(self, clients, seconds):
        """Durable one-row inserts by pgbench, which counts only what was committed."""
        self.sql(TABLE)
        self.sql('checkpoint')
        said = self.run('pgbench', '-h', self.folder, '-U', 'postgres', '-n', '-M', 'simple', '-c', clients, '-j', 2,
                        '-T', seconds, '-f', self.insert, 'postgres')
        done = int(re.search(r'actually processed: (\d+)', said)[1])
        kept = int(self.sql('select count(*) from event'))
        if kept != done:
            raise SystemExit(f'pgbench counted {done} rows, the table has {kept}')
        return float(re.search(r'tps = ([\d.]+)', said)[1])

    def end(self):
        self.server.send_signal(signal.SIGINT)
        self.server.wait(timeout=60)
        shutil.rmtree(self.folder, ignore_errors=True)
