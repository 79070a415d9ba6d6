"""usage: late_modbus.py PORT LATE_S      a controller whose every fifth answer comes LATE_S late

Written from the Modbus messaging guide (V1.0b, 3.1.3) for TCP: holding register a holds 1000 + a, so that
an answer taken for another question's is seen at once.  The late one is sent after all, in order.
"""
import socket
import struct
import sys
import threading
import time

door = socket.create_server(("127.0.0.1", int(sys.argv[1])))
late_s = float(sys.argv[2])
asked = 0


def serve(connection):
    global asked
    while len(head := connection.recv(12, socket.MSG_WAITALL)) == 12:
        transaction, _, _, unit, function, address, count = struct.unpack(">HHHBBHH", head)
        asked += 1
        if asked % 5 == 0:
            time.sleep(late_s)
        words = struct.pack(f">{count}H", *(1000 + address + i for i in range(count)))
        try:
            connection.sendall(struct.pack(">HHHBBB", transaction, 0, 3 + len(words), unit, function,
                                           len(words)) + words)
        except OSError:
            break
    connection.close()


while True:
    threading.Thread(target=serve, args=(door.accept()[0],), daemon=True).start()
