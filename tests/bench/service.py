"""The service as a process of its own, and the requests that set it up."""
import json
import os
import pathlib
import socket
import subprocess
import time
import urllib.error
import urllib.request
import uuid

LOGIN, PASSWORD = 'bench', 'only for measuring, never for work'


class Service:
    def __init__(self, program, folder, database_url=None):
        self.program, self.folder = program, pathlib.Path(folder)
        self.folder.mkdir(parents=True, exist_ok=True)
        self.environment = {'PATH': os.environ['PATH'], 'SPINDLEBOOK_DATA': str(self.folder), 'RUST_LOG': 'warn'}
        if database_url:
            self.environment['DATABASE_URL'] = database_url
        with socket.socket() as free:
            free.bind(('127.0.0.1', 0))
            self.address = f'127.0.0.1:{free.getsockname()[1]}'
        self.process = self.token = None

    def command(self, *arguments, given=None):
        done = subprocess.run([self.program, *arguments], env=self.environment, input=given, capture_output=True, text=True)
        if done.returncode:
            raise SystemExit(f'spindlebook {" ".join(arguments)}: {done.stdout}{done.stderr}')
        return done.stdout

    def start(self):
        """How many milliseconds it takes from the start of the process until the service says that it is ready."""
        log = open(self.folder / 'log', 'a')
        began = time.perf_counter()
        self.process = subprocess.Popen([self.program, 'serve', '--listen', self.address, *UNLIMITED],
                                        env=self.environment, stdout=log, stderr=log)
        while not self.is_ready():
            if self.process.poll() is not None:
                raise SystemExit((self.folder / 'log').read_text())
            time.sleep(.002)
        return (time.perf_counter() - began) * 1000

    def is_ready(self):
        """While a ledger is folded the socket takes connections already, and answers as soon as it can."""
        try:
            with urllib.request.urlopen(f'http://{self.address}/health/ready', timeout=120) as answer:
                return answer.status == 200
        except OSError:
            return False

    def stop(self):
        self.process.terminate()
        if self.process.wait(timeout=60):
            raise SystemExit(f'the service ended with {self.process.returncode}: {(self.folder / "log").read_text()}')

    def memory_mib(self):
        """What it occupies now, and the most it ever did."""
        status = pathlib.Path(f'/proc/{self.process.pid}/status').read_text()
        kib = {name: int(line.split()[1]) for line in status.splitlines()
               for name in ('VmRSS', 'VmHWM') if line.startswith(name)}
        return {'now': kib['VmRSS'] / 1024, 'most': kib['VmHWM'] / 1024}

    def ask(self, method, path, body=None):
        headers = {'Content-Type': 'application/json', 'Idempotency-Key': f'"{uuid.uuid4()}"'}
        if self.token:
            headers['Authorization'] = f'Bearer {self.token}'
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(f'http://{self.address}{path}', data, headers, method=method)
        try:
            with urllib.request.urlopen(request) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as refused:
            raise SystemExit(f'{method} {path}: {refused.status} {refused.read().decode()}') from None

    def sign_in(self):
        self.token = self.ask('POST', '/v1/session', {'login': LOGIN, 'password': PASSWORD})['access_token']

    def set_up(self):
        """A site and somebody who may send signals and see hours."""
        self.command('site', 'add', 'bench', '--name', 'Bench', '--zone', 'Europe/Berlin')
        self.add_user()

    def add_user(self):
        self.command('user', 'add', 'Bench', '--login', LOGIN, '--role', 'admin', '--role', 'planner', '--password-stdin',
                     given=PASSWORD + '\n')

    def add_machines(self, count):
        cell = self.ask('POST', '/v1/cells', {'code': 'POOL', 'name': 'Pool', 'kind': 'pool', 'load_stations': 2, 'stands': 12,
                                                  'exchange_s': 60})['id']
        return cell, [self.ask('POST', '/v1/machines', {'code': f'M{number:03}', 'name': f'Machine {number}',
                                                       'cell': cell})['id'] for number in range(count)]


# The limit is there to stop one caller that runs wild; here one caller is the whole shop.
UNLIMITED = ['--requests-per-second', '0']
