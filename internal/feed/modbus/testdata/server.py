"""A Modbus server on 127.0.0.1 by pymodbus. Arguments: port, framer (tcp or rtu)."""
import asyncio, sys, types
try:
    import serial_asyncio
except ImportError:  # only needed for its own serial lines, which aren't used
    stand_in = types.ModuleType("serial_asyncio")
    stand_in.create_serial_connection = None
    sys.modules["serial_asyncio"] = stand_in
from pymodbus.constants import Endian
from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext, ModbusSparseDataBlock
from pymodbus.payload import BinaryPayloadBuilder
from pymodbus.server import StartAsyncTcpServer
from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer


def registers(byteorder, wordorder, add):
    builder = BinaryPayloadBuilder(byteorder=byteorder, wordorder=wordorder)
    add(builder)
    return builder.to_registers()


holding = {}
def put(address, values):
    holding.update({address + n: v for n, v in enumerate(values)})

b, l = Endian.Big, Endian.Little
for address, bytes_, words in ((0, b, b), (2, b, l), (4, l, b), (6, l, l)):
    put(address, registers(bytes_, words, lambda p: p.add_32bit_float(123.456)))
put(10, registers(b, b, lambda p: p.add_16bit_uint(1184)))
put(11, registers(b, b, lambda p: p.add_16bit_int(-2)))
put(12, registers(b, l, lambda p: p.add_32bit_uint(100000)))
put(14, registers(b, b, lambda p: p.add_32bit_int(-100000)))
put(16, [0xFFFF])
# 17 to 19 are missing, so that a request over them is refused
put(20, [777])
unit = ModbusSlaveContext(hr=ModbusSparseDataBlock(holding), ir=ModbusSequentialDataBlock(0, [42, 43]), zero_mode=True)
other = ModbusSlaveContext(hr=ModbusSequentialDataBlock(0, [9]), zero_mode=True)
context = ModbusServerContext(slaves={1: unit, 2: other}, single=False)
framer = {"tcp": ModbusSocketFramer, "rtu": ModbusRtuFramer}[sys.argv[2]]
asyncio.run(StartAsyncTcpServer(context, address=("127.0.0.1", int(sys.argv[1])), framer=framer, ignore_missing_slaves=True, allow_reuse_address=True))
