"""usage: refusing_broker.py PORT      a broker that grants the first topic and refuses the others

Written from OASIS MQTT 3.1.1, sections 3.1, 3.2, 3.8 and 3.9: no broker of others refuses when told to.
"""
import socket
import sys

door = socket.create_server(("127.0.0.1", int(sys.argv[1])))


def packet(connection):
    head = connection.recv(2, socket.MSG_WAITALL)
    return (head[0] >> 4, connection.recv(head[1], socket.MSG_WAITALL)) if len(head) == 2 else (0, b"")


while True:
    connection, _ = door.accept()
    granted = 0
    while True:
        kind, body = packet(connection)
        if kind == 1:
            connection.sendall(b"\x20\x02\x00\x00")
        elif kind == 8:
            connection.sendall(b"\x90\x03" + body[:2] + (b"\x80" if granted else b"\x01"))
            granted += 1
        elif kind == 12:
            connection.sendall(b"\xd0\x00")
        else:
            break
    connection.close()
