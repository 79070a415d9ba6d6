"""usage: modbus_server.py PORT      a controller by pymodbus, which is not ours

Holding registers 0..19 hold 100 + address, but: 2, 3 hold 0.5 in 32 bits, high word first; 4, 5 hold it
low word first; 6 holds 65535, 7 holds -142 (signed), 8 holds -32768.  Input registers 0..9 hold
200 + address.  Coils 0..9 and discrete inputs 0..9: yes at odd addresses.  Nothing else is there.
"""
import sys

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server import StartTcpServer

holding = [100 + a for a in range(20)]
holding[2:9] = [0x3F00, 0x0000, 0x0000, 0x3F00, 65535, 65536 - 142, 32768]
odd = [a % 2 for a in range(10)]
device = ModbusSlaveContext(
    zero_mode=True,
    hr=ModbusSequentialDataBlock(0, holding),
    ir=ModbusSequentialDataBlock(0, [200 + a for a in range(10)]),
    co=ModbusSequentialDataBlock(0, odd),
    di=ModbusSequentialDataBlock(0, odd),
)
StartTcpServer(context=ModbusServerContext(slaves=device, single=True), address=("127.0.0.1", int(sys.argv[1])))
